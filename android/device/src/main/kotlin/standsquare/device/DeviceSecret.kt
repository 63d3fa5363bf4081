package standsquare.device

import android.security.keystore.KeyGenParameterSpec
import android.security.keystore.KeyProperties
import java.io.File
import java.io.FileOutputStream
import java.security.KeyStore
import java.security.SecureRandom
import javax.crypto.Cipher
import javax.crypto.KeyGenerator
import javax.crypto.SecretKey
import javax.crypto.spec.GCMParameterSpec

/**
 * This phone's secret: 32 random bytes, kept in [file] under a key that never
 * leaves the phone's keystore.
 */
class DeviceSecret(private val file: File) {
    /** The secret; made the first time. Slow enough to stay off the main thread. */
    fun get(): ByteArray = if (file.exists()) open(file.readBytes()) else make()

    private fun make(): ByteArray {
        val secret = ByteArray(LENGTH).also(SecureRandom()::nextBytes)
        val cipher = Cipher.getInstance(CIPHER).apply { init(Cipher.ENCRYPT_MODE, key()) }
        val sealed = cipher.iv + cipher.doFinal(secret)
        // Whole or not at all: a secret cut short would lock the record for good.
        val half = File(file.path + ".new")
        FileOutputStream(half).use {
            it.write(sealed)
            it.fd.sync()
        }
        check(half.renameTo(file)) { "the secret cannot be kept" }
        return secret
    }

    private fun open(sealed: ByteArray): ByteArray {
        check(sealed.size > NONCE) { "the kept secret is cut short" }
        val cipher = Cipher.getInstance(CIPHER)
        cipher.init(Cipher.DECRYPT_MODE, key(), GCMParameterSpec(TAG_BITS, sealed, 0, NONCE))
        return cipher.doFinal(sealed, NONCE, sealed.size - NONCE)
    }

    private fun key(): SecretKey {
        val store = KeyStore.getInstance(STORE).apply { load(null) }
        (store.getKey(ALIAS, null) as? SecretKey)?.let { return it }
        val maker = KeyGenerator.getInstance(KeyProperties.KEY_ALGORITHM_AES, STORE)
        maker.init(
            KeyGenParameterSpec.Builder(ALIAS, KeyProperties.PURPOSE_ENCRYPT or KeyProperties.PURPOSE_DECRYPT)
                .setBlockModes(KeyProperties.BLOCK_MODE_GCM)
                .setEncryptionPaddings(KeyProperties.ENCRYPTION_PADDING_NONE)
                .setKeySize(256)
                .build(),
        )
        return maker.generateKey()
    }

    private companion object {
        const val LENGTH = 32
        const val NONCE = 12 // AES-GCM's usual nonce, bytes (NIST SP 800-38D, 8.2.1)
        const val TAG_BITS = 128
        const val CIPHER = "AES/GCM/NoPadding"
        const val STORE = "AndroidKeyStore"
        const val ALIAS = "standsquare-device"
    }
}
