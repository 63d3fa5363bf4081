package standsquare.app

import android.content.Context
import android.graphics.Typeface
import java.io.File
import standsquare.device.PdfPaper
import standsquare.screens.paper.Ink
import standsquare.screens.paper.lay
import standsquare.screens.words.Words
import standsquare.view.Sheet

/** A sheet as a PDF, drawn by the phone's own canvas in the typeface of the screens. */
fun pdf(context: Context, sheet: Sheet, words: Words): ByteArray {
    fun typeface(name: String) = Typeface.createFromFile(File(context.cacheDir, "$name.ttf"))
    return PdfPaper(typeface("Regular"), typeface("Bold")).use { paper ->
        val laid = lay(sheet, words, paper::width)
        for (inks in laid.pages) {
            paper.page(laid.width, laid.height)
            for (ink in inks) when (ink) {
                is Ink.Line -> paper.text(ink.x, ink.y, ink.size, ink.bold, ink.text)
                is Ink.Code -> {
                    val side = ink.code.side.toInt()
                    for (y in 0 until side) for (x in 0 until side) if (ink.code.modules[y * side + x] == 1.toByte())
                        paper.square(ink.x + x * ink.module, ink.y + y * ink.module, ink.module)
                }
            }
        }
        paper.bytes()
    }
}
