package standsquare.device

import android.hardware.biometrics.BiometricManager
import android.security.keystore.KeyPermanentlyInvalidatedException
import java.io.File
import java.security.ProviderException
import javax.crypto.Cipher
import javax.crypto.KeyGenerator
import javax.crypto.SecretKey
import org.junit.Assert.assertArrayEquals
import org.junit.Assert.assertEquals
import org.junit.Assert.assertFalse
import org.junit.Assert.assertTrue
import org.junit.Rule
import org.junit.Test
import org.junit.rules.TemporaryFolder
import org.mockito.Mockito.`when`

/** The keystore's key and the dialogue played: what is kept, and what is given up. */
class OwnerUnlockTest {
    @get:Rule val folder = TemporaryFolder()

    private val file by lazy { File(folder.root, "owner") }
    private var proves = true
    private val asked = mutableListOf<String>()
    private val secret = ByteArray(32) { it.toByte() }

    private val keys = object : OwnerUnlock.Keys {
        var key: SecretKey? = null
        var invalid = false
        var makes = true

        override fun find(): SecretKey? = if (invalid) throw KeyPermanentlyInvalidatedException("a finger was added") else key

        override fun make(): SecretKey {
            if (!makes) throw ProviderException("nobody is enrolled")
            invalid = false
            return KeyGenerator.getInstance("AES").apply { init(256) }.generateKey().also { key = it }
        }
    }

    private fun ask(keep: ByteArray = ByteArray(0)): Unlocked {
        val said = mutableListOf<Unlocked>()
        val dialogue = { why: String, cipher: Cipher, done: (Cipher?) -> Unit ->
            asked += why
            done(cipher.takeIf { proves })
        }
        OwnerUnlock(file, dialogue, keys).get("why", keep) { said += it }
        return said.single()
    }

    private fun given(keep: ByteArray = ByteArray(0)) = (ask(keep) as Unlocked.Given).secret

    @Test
    fun whatWasGivenToKeepComesBackEachTime() {
        assertArrayEquals(secret, given(secret))
        repeat(2) { assertArrayEquals(secret, given()) }
        assertEquals(listOf("why", "why", "why"), asked)
        assertFalse("never in the clear", file.readBytes().toList().windowed(32).any { it == secret.toList() })
        val other = ByteArray(32) { 9 }
        given(other)
        assertArrayEquals("in place of the one before", other, given())
    }

    @Test
    fun whoThinksBetterOfItLosesNothing() {
        given(secret)
        proves = false
        assertEquals(Unlocked.Left, ask())
        proves = true
        assertArrayEquals(secret, given())
    }

    @Test
    fun changedBiometricsAreGoneForGoodAndNobodyIsAsked() {
        given(secret)
        keys.invalid = true
        asked.clear()
        assertEquals(Unlocked.Gone, ask())
        assertEquals(emptyList<String>(), asked)
        assertFalse(file.exists())
        assertArrayEquals("it can be kept anew", secret, given(secret))
    }

    @Test
    fun anotherKeyADamagedFileOrNoneIsGone() {
        given(secret)
        file.writeBytes(file.readBytes().also { it[20] = (it[20] + 1).toByte() })
        assertEquals(Unlocked.Gone, ask())
        file.writeBytes(ByteArray(3))
        assertEquals(Unlocked.Gone, ask())
        assertEquals(Unlocked.Gone, ask())
        given(secret)
        keys.key = null
        assertEquals(Unlocked.Gone, ask())
    }

    @Test
    fun aKeystoreThatCannotKeepItSaysSo() {
        keys.makes = false
        assertEquals(Unlocked.Gone, ask(secret))
        keys.makes = true
        assertTrue(file.mkdirs() && File(file, "in the way").createNewFile())
        assertEquals(Unlocked.Gone, ask(secret))
    }

    @Test
    fun onlyStrongBiometricsThatAreEnrolledCount() {
        val manager = mocked<BiometricManager>()
        val strong = BiometricManager.Authenticators.BIOMETRIC_STRONG
        `when`(manager.canAuthenticate(strong)).thenReturn(BiometricManager.BIOMETRIC_SUCCESS)
        assertTrue(OwnerUnlock.can(manager, 30))
        assertFalse("before Android 11", OwnerUnlock.can(manager, 29))
        `when`(manager.canAuthenticate(strong)).thenReturn(BiometricManager.BIOMETRIC_ERROR_NONE_ENROLLED)
        assertFalse(OwnerUnlock.can(manager, 30))
        assertFalse(OwnerUnlock.can(null, 30))
    }

    @Test
    fun theDialogueAnswersOnce() {
        val said = mutableListOf<Cipher?>()
        val answer = OwnerUnlock.answering { said += it }
        answer.onAuthenticationError(5, "left")
        answer.onAuthenticationError(5, "left")
        assertEquals(listOf<Cipher?>(null), said)
    }
}
