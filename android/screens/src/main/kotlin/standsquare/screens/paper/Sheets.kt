package standsquare.screens.paper

import standsquare.screens.words.Words
import standsquare.view.QrMatrix
import standsquare.view.Sheet
import standsquare.view.SheetBlock

/** Measures words, in points (1/72 inch): what a platform's own canvas knows. */
fun interface Ruler {
    fun width(text: String, size: Float, bold: Boolean): Float
}

/** Something on a page; places are points from the upper left corner, of words their baseline. */
sealed interface Ink {
    data class Line(val x: Float, val y: Float, val size: Float, val bold: Boolean, val text: String) : Ink

    /** A code's upper left corner, and the side of one of its modules. */
    data class Code(val x: Float, val y: Float, val module: Float, val code: QrMatrix) : Ink
}

/** A sheet laid out: the paper's size in points, and what is on each page. */
class Laid(val width: Float, val height: Float, val pages: List<List<Ink>>)

private const val TITLE = 15f
private const val HEADING = 11.5f
private const val BODY = 9.5f
private const val SMALL = 8f
private const val LEADING = 1.35f
private const val POINTS_A_MM = 72f / 25.4f

/** Lays [sheet] out in the language of [words]: a block stays together where a page has room for it. */
fun lay(sheet: Sheet, words: Words, ruler: Ruler): Laid = Layout(sheet, words, ruler).laid()

private class Layout(private val sheet: Sheet, private val words: Words, private val ruler: Ruler) {
    private val width = sheet.widthMm.toInt() * POINTS_A_MM
    private val height = sheet.heightMm.toInt() * POINTS_A_MM
    private val margin = width * 0.08f
    private val inner = width - 2 * margin
    private val bottom = height - margin - SMALL * LEADING * 1.5f
    private val pages = mutableListOf<MutableList<Ink>>()
    private var y = 0f

    fun laid(): Laid {
        page()
        write(words.say(sheet.top), TITLE, bold = true)
        sheet.blocks.forEachIndexed { n, block ->
            val needs = heightOf(block)
            // The heading never stands alone.
            if (n > 0 && y + needs > bottom && needs <= bottom - margin) page()
            block(block)
        }
        val foot = words.say(sheet.foot)
        pages.forEachIndexed { n, page ->
            val number = if (pages.size > 1) " · ${n + 1}/${pages.size}" else ""
            page += Ink.Line(margin, height - margin, SMALL, false, foot + number)
        }
        return Laid(width, height, pages)
    }

    private fun page() {
        pages += mutableListOf<Ink>()
        y = margin
    }

    /** What a block takes, found by laying it on a page of its own. */
    private fun heightOf(block: SheetBlock): Float {
        val (before, at) = pages.toList() to y
        val sizes = pages.map { it.size }
        block(block, measuring = true)
        val used = y - at
        pages.clear()
        pages += before
        pages.forEachIndexed { n, page -> while (page.size > sizes[n]) page.removeAt(page.lastIndex) }
        y = at
        return used
    }

    private fun block(block: SheetBlock, measuring: Boolean = false) {
        y += BODY
        block.beside?.let { code(it, measuring) }
        block.heading?.let { write(words.say(it), HEADING, bold = true, measuring = measuring) }
        val beside = inner * 0.34f
        for (pair in block.pairs) {
            val (top, before) = y to pages.size
            write(words.say(pair.label), BODY, bold = false, width = beside - BODY, measuring = measuring)
            val label = y
            // Both begin on one line, also where that is the first one of a page.
            y = if (pages.size == before) top else margin
            val during = pages.size
            write(words.say(pair.value), BODY, bold = true, x = margin + beside, width = inner - beside, measuring = measuring)
            if (pages.size == during) y = maxOf(y, label)
        }
        if (block.below.isEmpty()) return
        y += SMALL / 2
        write(block.below.joinToString(" · ") { words.say(it).removeSuffix(".") }, SMALL, bold = false, measuring = measuring)
    }

    /** Less than half as wide as the paper, 40 mm on A6: large enough for any camera, with its four modules of light in the margin. */
    private fun code(code: QrMatrix, measuring: Boolean) {
        val side = code.side.toInt()
        val module = inner * 0.46f / side
        if (!measuring && y + side * module > bottom) page()
        pages.last() += Ink.Code((width - module * side) / 2, y, module, code)
        y += module * side + 4 * module
    }

    private fun write(text: String, size: Float, bold: Boolean, x: Float = margin, width: Float = inner, measuring: Boolean = false) {
        for (line in wrapped(text, size, bold, width)) {
            if (!measuring && y + size * LEADING > bottom) page()
            y += size * LEADING
            pages.last() += Ink.Line(x, y, size, bold, line)
        }
    }

    private fun wrapped(text: String, size: Float, bold: Boolean, width: Float): List<String> {
        val lines = mutableListOf("")
        for (word in text.split(' ')) {
            val longer = if (lines.last().isEmpty()) word else "${lines.last()} $word"
            if (lines.last().isEmpty() || ruler.width(longer, size, bold) <= width) lines[lines.lastIndex] = longer
            else lines += word
        }
        return lines
    }
}
