package standsquare.device

import android.graphics.Color
import android.graphics.Paint
import android.graphics.Typeface
import android.graphics.pdf.PdfDocument
import java.io.ByteArrayOutputStream

/**
 * A PDF drawn by the phone's own canvas, page after page; places in points (1/72 inch) from the
 * upper left corner. What is drawn where is laid out elsewhere, with [width] as its ruler.
 */
class PdfPaper(private val regular: Typeface, private val bold: Typeface) : AutoCloseable {
    private val document = PdfDocument()
    private val paint = Paint(Paint.ANTI_ALIAS_FLAG).apply { color = Color.BLACK }
    private var page: PdfDocument.Page? = null
    private var pages = 0

    /** How wide words are. */
    fun width(text: String, size: Float, isBold: Boolean): Float = words(size, isBold).measureText(text)

    /** Begins the next page. */
    fun page(width: Float, height: Float) {
        finish()
        pages += 1
        // The paper's size in whole points is what the system takes: less than half a millimetre off.
        page = document.startPage(PdfDocument.PageInfo.Builder(Math.round(width), Math.round(height), pages).create())
    }

    /** Words with their baseline at [y]. */
    fun text(x: Float, y: Float, size: Float, isBold: Boolean, text: String) {
        page?.canvas?.drawText(text, x, y, words(size, isBold))
    }

    /** A black square. */
    fun square(x: Float, y: Float, side: Float) {
        page?.canvas?.drawRect(x, y, x + side, y + side, paint)
    }

    /** The whole document. */
    fun bytes(): ByteArray {
        finish()
        return ByteArrayOutputStream().also(document::writeTo).toByteArray()
    }

    override fun close() = document.close()

    private fun finish() {
        page?.let(document::finishPage)
        page = null
    }

    private fun words(size: Float, isBold: Boolean) = paint.apply {
        textSize = size
        typeface = if (isBold) bold else regular
    }
}
