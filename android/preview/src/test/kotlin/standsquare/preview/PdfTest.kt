package standsquare.preview

import com.google.zxing.BinaryBitmap
import com.google.zxing.DecodeHintType
import com.google.zxing.RGBLuminanceSource
import com.google.zxing.common.HybridBinarizer
import com.google.zxing.qrcode.QRCodeReader
import java.io.File
import org.apache.pdfbox.Loader
import org.apache.pdfbox.rendering.PDFRenderer
import org.apache.pdfbox.text.PDFTextStripper
import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Test
import standsquare.core.Phone
import standsquare.core.readRecording
import standsquare.screens.words.Language
import standsquare.screens.words.Words
import standsquare.view.Effect
import standsquare.view.Sheet

/** Sheets as they are printed: read back by another library, in every language. */
class PdfTest {
    private val sheets: Map<String, Sheet> by lazy {
        val root = File(checkNotNull(System.getProperty("standsquare.root")))
        val recording = readRecording(File(root, "tests/recorded/looking-around.json").readText())
        val dir = kotlin.io.path.createTempDirectory("sheets").toFile()
        try {
            Phone.open(dir.path, recording.deviceSecret, recording.opened).use { phone ->
                recording.steps.flatMap { phone.apply(it.act, phone.view().revision, it.stamp).effects }
                    .filterIsInstance<Effect.Print>().associate { it.name to it.sheet }
            }
        } finally {
            dir.deleteRecursively()
        }
    }

    private fun one(beginning: String) = sheets.entries.single { it.key.startsWith(beginning) }.value

    @Test
    fun everyWordIsOnThePageInEveryLanguage() {
        assertEquals(2, sheets.size)
        for (language in Language.entries) for ((name, sheet) in sheets) {
            val words = Words.of(language)
            Loader.loadPDF(pdf(sheet, words)).use { document ->
                val text = PDFTextStripper().getText(document).filterNot { it.isWhitespace() }
                val wanted = listOf(sheet.top, sheet.foot) + sheet.blocks.flatMap { block ->
                    listOfNotNull(block.heading) + block.pairs.flatMap { listOf(it.label, it.value) } + block.below
                }
                for (said in wanted.map { words.say(it).filterNot { c -> c.isWhitespace() }.removeSuffix(".") })
                    assertTrue("$name, ${language.code}: '$said' is not on it", said in text)
                val box = document.getPage(0).mediaBox
                assertEquals(sheet.widthMm.toFloat() * 72 / 25.4f, box.width, 0.1f)
                assertEquals(sheet.heightMm.toFloat() * 72 / 25.4f, box.height, 0.1f)
                File("target", "$name-${language.code}.png").let {
                    javax.imageio.ImageIO.write(PDFRenderer(document).renderImageWithDPI(0, 96f), "png", it)
                }
            }
        }
    }

    @Test
    fun theSlipsCodeIsReadOffThePaper() {
        Loader.loadPDF(pdf(one("slip-"), Words.of(Language.ENGLISH))).use { document ->
            assertEquals(1, document.numberOfPages)
            val image = PDFRenderer(document).renderImageWithDPI(0, 300f)
            val pixels = image.getRGB(0, 0, image.width, image.height, null, 0, image.width)
            val seen = BinaryBitmap(HybridBinarizer(RGBLuminanceSource(image.width, image.height, pixels)))
            val text = QRCodeReader().decode(seen, mapOf(DecodeHintType.TRY_HARDER to true)).text
            assertTrue(text, text.startsWith("SSQ1:"))
        }
    }

    @Test
    fun aLongReturnGoesOverSeveralPagesAndNothingIsLost() {
        val sheet = one("return-")
        val dog = sheet.blocks.last()
        val long = sheet.copy(blocks = sheet.blocks + List(60) { dog })
        Loader.loadPDF(pdf(long, Words.of(Language.GERMAN))).use { document ->
            assertTrue("${document.numberOfPages} pages", document.numberOfPages in 4..30)
            val name = Words.of(Language.GERMAN).say(checkNotNull(dog.heading))
            assertEquals(61, PDFTextStripper().getText(document).split(name).size - 1)
        }
    }
}
