package standsquare.preview

import java.io.File
import java.nio.file.Files
import java.nio.file.attribute.PosixFilePermissions
import kotlin.io.path.createTempDirectory
import org.junit.After
import org.junit.Assert.assertArrayEquals
import org.junit.Assert.assertEquals
import org.junit.Assert.assertFalse
import org.junit.Assert.assertThrows
import org.junit.Test

class DataFolderTest {
    private val dir: File = createTempDirectory("data").toFile()

    @After
    fun tidy() {
        dir.deleteRecursively()
    }

    @Test
    fun theSecretIsMadeOnceAndOnlyItsOwnerReadsIt() {
        val secret = DataFolder(dir).secret()
        assertEquals(32, secret.size)
        assertArrayEquals(secret, DataFolder(dir).secret())
        val mode = Files.getPosixFilePermissions(File(dir, "device-secret").toPath())
        assertEquals("rw-------", PosixFilePermissions.toString(mode))
    }

    @Test
    fun twoPhonesHaveTwoSecrets() {
        val other = DataFolder(File(dir, "other")).secret()
        assertFalse(DataFolder(dir).secret().contentEquals(other))
    }

    @Test
    fun aSecretCutShortIsNotMadeAnew() {
        val folder = DataFolder(dir)
        File(dir, "device-secret").writeBytes(ByteArray(5))
        assertThrows(IllegalStateException::class.java) { folder.secret() }
        assertEquals(5, File(dir, "device-secret").length())
    }
}
