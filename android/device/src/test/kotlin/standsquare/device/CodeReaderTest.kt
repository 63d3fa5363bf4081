package standsquare.device

import java.awt.RenderingHints
import java.awt.image.BufferedImage
import java.io.File
import javax.imageio.ImageIO
import kotlin.random.Random
import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Test

/** Our own screens, drawn by the screens' tests, before a camera that holds them well or badly. */
class CodeReaderTest {
    private val pictures = File("../screens/src/test/pictures")
    private val read = mutableListOf<String>()
    private val reader = CodeReader(read::add)

    private class Grey(val width: Int, val height: Int, val bytes: ByteArray)

    private fun picture(name: String): Grey {
        val kept: BufferedImage = ImageIO.read(File(pictures, name))
        // The pictures are kept at one point a dp; a phone draws three, and a camera sees about two.
        val image = BufferedImage(kept.width * 2, kept.height * 2, BufferedImage.TYPE_INT_RGB)
        image.createGraphics().apply {
            setRenderingHint(RenderingHints.KEY_INTERPOLATION, RenderingHints.VALUE_INTERPOLATION_BICUBIC)
            drawImage(kept, 0, 0, image.width, image.height, null)
            dispose()
        }
        val bytes = ByteArray(image.width * image.height)
        for (y in 0 until image.height) for (x in 0 until image.width) {
            val rgb = image.getRGB(x, y)
            bytes[y * image.width + x] = ((rgb shr 16 and 255) * 3 + (rgb shr 8 and 255) * 6 + (rgb and 255)).div(10).toByte()
        }
        return Grey(image.width, image.height, bytes)
    }

    private fun Grey.each(change: (x: Int, y: Int, light: Int) -> Int) = Grey(width, height, ByteArray(bytes.size) {
        change(it % width, it / width, bytes[it].toInt() and 255).coerceIn(0, 255).toByte()
    })

    private fun Grey.turned() = Grey(height, width, ByteArray(bytes.size) { at ->
        val (x, y) = at % height to at / height
        bytes[(height - 1 - x) * width + y]
    })

    private fun take(grey: Grey) = reader.take(grey.bytes, grey.width, grey.width, grey.height)

    private fun one(begins: String, grey: Grey, what: String = begins) {
        read.clear()
        take(grey)
        assertEquals(what, 1, read.size)
        assertTrue(read.single(), read.single().startsWith(begins))
    }

    @Test
    fun theCodesOfEveryScreenThatShowsSomeAreRead() {
        // By day and by night, in every language and size of letters that pictures are kept of.
        for ((screen, begins) in listOf("codes" to "SSC1:", "slip" to "SSQ1:")) {
            for (kind in listOf("sun-en", "sun-de", "sun-fr", "dark-en", "tablet")) one(begins, picture("$kind-$screen.png"), "$kind-$screen")
        }
    }

    @Test
    fun aPhoneThatIsHeldBadlyReadsThemToo() {
        val code = picture("sun-en-codes.png")
        val random = Random(10)
        one("SSC1:", code.turned())
        one("SSC1:", code.turned().turned())
        one("SSC1:", code.each { _, _, light -> light / 4 + 20 })
        // The sun from one side, and a grainy picture.
        one("SSC1:", code.each { x, _, light -> light * 3 / 4 - x * 80 / code.width + 40 })
        one("SSC1:", code.each { _, _, light -> light + random.nextInt(-50, 50) })
    }

    @Test
    fun aCodeIsToldAsOftenAsItIsSeenForTheCoreKnowsWhetherItStayed() {
        val code = picture("sun-en-codes.png")
        repeat(3) { take(code) }
        take(picture("sun-en-slip.png"))
        take(code)
        assertEquals(5, read.size)
        assertEquals(2, read.toSet().size)
    }

    @Test
    fun rowsThatAreLongerThanThePictureAndPicturesWithoutACode() {
        val code = picture("sun-en-codes.png")
        val stride = code.width + 24
        val padded = ByteArray(stride * (code.height - 1) + code.width) { at ->
            val (x, y) = at % stride to at / stride
            if (x < code.width) code.bytes[y * code.width + x] else 0
        }
        reader.take(padded, stride, code.width, code.height)
        assertEquals(1, read.size)
        for (bad in listOf(ByteArray(0), ByteArray(10))) reader.take(bad, 100, 100, 100)
        reader.take(ByteArray(10_000), 90, 100, 100)
        reader.take(ByteArray(10_000), 100, 0, 0)
        take(picture("sun-en-queue.png"))
        assertEquals(1, read.size)
    }
}
