package standsquare.device

import android.content.Context
import android.hardware.biometrics.BiometricManager
import android.hardware.biometrics.BiometricPrompt
import android.os.Build
import android.os.CancellationSignal
import android.security.keystore.KeyGenParameterSpec
import android.security.keystore.KeyPermanentlyInvalidatedException
import android.security.keystore.KeyProperties
import java.io.File
import java.io.FileOutputStream
import java.io.IOException
import java.security.GeneralSecurityException
import java.security.KeyStore
import java.security.ProviderException
import java.util.concurrent.Executor
import javax.crypto.Cipher
import javax.crypto.KeyGenerator
import javax.crypto.SecretKey
import javax.crypto.spec.GCMParameterSpec

/** What became of asking the owner. */
sealed interface Unlocked {
    /** Here it is: what was given to keep. */
    class Given(val secret: ByteArray) : Unlocked

    /** There is nothing to give up any more, or nothing can be kept: the phone's biometrics have changed, or its key is no more. */
    data object Gone : Unlocked

    /** Not this time; the PIN is always there. */
    data object Left : Unlocked
}

/**
 * A secret that this phone gives up only to its owner's biometrics: kept in [file] under a keystore
 * key that every use must be proved for, and that the system throws away when a finger or a face is
 * added. The framework's own dialogue, from Android 11 on (strong biometrics with a cipher).
 */
class OwnerUnlock(
    private val file: File,
    private val ask: (why: String, cipher: Cipher, done: (Cipher?) -> Unit) -> Unit,
    private val keys: Keys = Keystore,
) {
    /** Where its key lies; tests play it. */
    interface Keys {
        /** The key; null where there is none. */
        fun find(): SecretKey?

        /** A new one, in place of any before. */
        fun make(): SecretKey
    }

    /** Asks the owner and gives the secret, after putting [keep] in place of any before if it is not empty; calls [done] at most once. */
    fun get(why: String, keep: ByteArray, done: (Unlocked) -> Unit) {
        val cipher = orNull { if (keep.isEmpty()) opening() else sealing() } ?: return done(gone())
        ask(why, cipher) { proved ->
            done(
                if (proved == null) Unlocked.Left
                else orNull { if (keep.isEmpty()) open(proved) else kept(proved, keep) }?.let(Unlocked::Given) ?: gone(),
            )
        }
    }

    private fun gone(): Unlocked {
        file.delete()
        return Unlocked.Gone
    }

    private fun sealing(): Cipher = Cipher.getInstance(CIPHER).apply { init(Cipher.ENCRYPT_MODE, keys.make()) }

    private fun opening(): Cipher? {
        val key = keys.find() ?: return null
        val sealed = if (file.exists()) file.readBytes() else return null
        if (sealed.size <= NONCE) return null
        return Cipher.getInstance(CIPHER).apply { init(Cipher.DECRYPT_MODE, key, GCMParameterSpec(TAG_BITS, sealed, 0, NONCE)) }
    }

    private fun kept(cipher: Cipher, secret: ByteArray): ByteArray {
        val sealed = cipher.iv + cipher.doFinal(secret)
        // Whole or not at all.
        val half = File(file.path + ".new")
        FileOutputStream(half).use {
            it.write(sealed)
            it.fd.sync()
        }
        if (!half.renameTo(file)) throw IOException("it cannot be kept")
        return secret
    }

    private fun open(cipher: Cipher): ByteArray {
        val sealed = file.readBytes()
        return cipher.doFinal(sealed, NONCE, sealed.size - NONCE)
    }

    private fun <T> orNull(what: () -> T?): T? = try {
        what()
    } catch (_: KeyPermanentlyInvalidatedException) {
        null
    } catch (_: GeneralSecurityException) {
        null
    } catch (_: ProviderException) {
        null // what a keystore throws that cannot make such a key
    } catch (_: IOException) {
        null
    }

    private object Keystore : Keys {
        override fun find(): SecretKey? =
            KeyStore.getInstance(STORE).apply { load(null) }.getKey(ALIAS, null) as? SecretKey

        override fun make(): SecretKey {
            val spec = KeyGenParameterSpec.Builder(ALIAS, KeyProperties.PURPOSE_ENCRYPT or KeyProperties.PURPOSE_DECRYPT)
                .setBlockModes(KeyProperties.BLOCK_MODE_GCM)
                .setEncryptionPaddings(KeyProperties.ENCRYPTION_PADDING_NONE)
                .setKeySize(256)
                .setUserAuthenticationRequired(true)
                .setInvalidatedByBiometricEnrollment(true)
            if (Build.VERSION.SDK_INT >= Build.VERSION_CODES.R)
                spec.setUserAuthenticationParameters(0, KeyProperties.AUTH_BIOMETRIC_STRONG)
            return KeyGenerator.getInstance(KeyProperties.KEY_ALGORITHM_AES, STORE).apply { init(spec.build()) }.generateKey()
        }
    }

    companion object {
        private const val NONCE = 12 // AES-GCM's usual nonce, bytes (NIST SP 800-38D, 8.2.1)
        private const val TAG_BITS = 128
        private const val CIPHER = "AES/GCM/NoPadding"
        private const val STORE = "AndroidKeyStore"
        private const val ALIAS = "standsquare-owner"

        /** Whether this phone can: strong biometrics, and somebody's enrolled. */
        fun can(manager: BiometricManager?, level: Int = Build.VERSION.SDK_INT): Boolean =
            level >= Build.VERSION_CODES.R &&
                manager?.canAuthenticate(BiometricManager.Authenticators.BIOMETRIC_STRONG) == BiometricManager.BIOMETRIC_SUCCESS

        /** The system's own dialogue; it hands the cipher back once it is proved. To be called on the main thread. */
        fun dialogue(context: Context, leave: String, on: Executor): (String, Cipher, (Cipher?) -> Unit) -> Unit = { why, cipher, done ->
            val answer = answering(done)
            val prompt = BiometricPrompt.Builder(context).setTitle(why)
            if (Build.VERSION.SDK_INT >= Build.VERSION_CODES.R)
                prompt.setAllowedAuthenticators(BiometricManager.Authenticators.BIOMETRIC_STRONG)
            prompt.setNegativeButton(leave, on) { _, _ -> answer.onAuthenticationError(0, leave) }
            prompt.build().authenticate(BiometricPrompt.CryptoObject(cipher), CancellationSignal(), on, answer)
        }

        /** Calls [done] once: with the cipher, or with nothing when it was left. A finger not known is tried again. */
        fun answering(done: (Cipher?) -> Unit) = object : BiometricPrompt.AuthenticationCallback() {
            private var over = false

            private fun end(cipher: Cipher?) {
                if (!over) done(cipher)
                over = true
            }

            override fun onAuthenticationSucceeded(result: BiometricPrompt.AuthenticationResult?) = end(result?.cryptoObject?.cipher)

            override fun onAuthenticationError(code: Int, words: CharSequence?) = end(null)
        }
    }
}
