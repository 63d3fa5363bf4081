package standsquare.preview

import java.awt.Color
import java.io.ByteArrayOutputStream
import org.apache.pdfbox.pdmodel.PDDocument
import org.apache.pdfbox.pdmodel.PDPage
import org.apache.pdfbox.pdmodel.PDPageContentStream
import org.apache.pdfbox.pdmodel.common.PDRectangle
import org.apache.pdfbox.pdmodel.font.PDFont
import org.apache.pdfbox.pdmodel.font.PDType0Font
import standsquare.screens.paper.Ink
import standsquare.screens.paper.lay
import standsquare.screens.words.Words
import standsquare.view.Sheet

/** A sheet as a PDF on a desktop; a phone has its own canvas for it. */
fun pdf(sheet: Sheet, words: Words): ByteArray = PDDocument().use { document ->
    fun font(name: String) = checkNotNull(Thread.currentThread().contextClassLoader.getResourceAsStream("typeface/$name.ttf")) { "the app lacks $name.ttf" }
        .use { PDType0Font.load(document, it) }
    val (regular, bold) = font("Regular") to font("Bold")
    fun of(isBold: Boolean): PDFont = if (isBold) bold else regular
    val laid = lay(sheet, words) { text, size, isBold -> of(isBold).getStringWidth(known(text, of(isBold))) / 1000 * size }
    for (inks in laid.pages) {
        val page = PDPage(PDRectangle(laid.width, laid.height))
        document.addPage(page)
        PDPageContentStream(document, page).use { out ->
            for (ink in inks) when (ink) {
                is Ink.Line -> {
                    out.beginText()
                    out.setFont(of(ink.bold), ink.size)
                    out.newLineAtOffset(ink.x, laid.height - ink.y)
                    out.showText(known(ink.text, of(ink.bold)))
                    out.endText()
                }
                is Ink.Code -> {
                    out.setNonStrokingColor(Color.BLACK)
                    val side = ink.code.side.toInt()
                    for (y in 0 until side) for (x in 0 until side) if (ink.code.modules[y * side + x] == 1.toByte())
                        out.addRect(ink.x + x * ink.module, laid.height - ink.y - (y + 1) * ink.module, ink.module, ink.module)
                    out.fill()
                }
            }
        }
    }
    ByteArrayOutputStream().also(document::save).toByteArray()
}

/** The text with what the typeface lacks as question marks: a name must not stop the sheet. */
private fun known(text: String, font: PDFont): String = buildString {
    for (point in text.codePoints()) {
        val sign = String(Character.toChars(point))
        append(if (runCatching { font.encode(sign) }.isSuccess) sign else "?")
    }
}
