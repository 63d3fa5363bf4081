package standsquare.preview

import java.io.File
import java.nio.file.Files
import java.nio.file.StandardOpenOption.CREATE_NEW
import java.nio.file.StandardOpenOption.SYNC
import java.nio.file.StandardOpenOption.WRITE
import java.nio.file.attribute.PosixFilePermissions
import java.security.SecureRandom

/**
 * The phone's folder on a desktop. On a real phone its secret lies in the
 * keystore; here it is a file that only its owner may read.
 */
class DataFolder(dir: File) {
    /** The record's folder. */
    val record: File = File(dir, "record")

    /** Where shared files land, in place of a share sheet. */
    val shared: File = File(dir, "shared")

    private val secretFile = File(dir, "device-secret")

    init {
        for (one in listOf(dir, record, shared))
            require(one.isDirectory || one.mkdirs()) { "$one cannot be made: name another folder with --data" }
    }

    /** This phone's secret, made at the first start. */
    fun secret(): ByteArray {
        if (!secretFile.exists()) make()
        val secret = secretFile.readBytes()
        check(secret.size == LENGTH) { "$secretFile is not a secret of $LENGTH bytes: put back the one it was" }
        return secret
    }

    private fun make() {
        val fresh = ByteArray(LENGTH).also(SecureRandom()::nextBytes)
        val mode = PosixFilePermissions.asFileAttribute(PosixFilePermissions.fromString("rw-------"))
        // Whole or not at all: a secret cut short would lock the record for good.
        val half = File(secretFile.path + ".new").toPath()
        Files.deleteIfExists(half)
        Files.newByteChannel(half, setOf(CREATE_NEW, WRITE, SYNC), mode).use { it.write(java.nio.ByteBuffer.wrap(fresh)) }
        Files.move(half, secretFile.toPath(), java.nio.file.StandardCopyOption.ATOMIC_MOVE)
    }

    private companion object {
        const val LENGTH = 32
    }
}
