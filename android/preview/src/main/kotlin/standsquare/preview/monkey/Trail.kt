package standsquare.preview.monkey

import java.io.File

/**
 * What was answered, act after act, a line each, in a file beside the record: it
 * outlives the process, so that the next one knows what must be there.
 */
class Trail(folder: File) {
    /** After act [act], at [clock], the record's newest event was [revision] and all that is shown and shared came to [digest]. */
    data class Answered(val act: Int, val clock: Long, val revision: Long, val digest: String, val what: String)

    private val file = File(folder, "trail.txt")
    private val before = File(folder, "before.txt")

    /** The last whole line; null where nothing was answered yet. */
    val last: Answered? = file.takeIf(File::exists)?.readText()?.substringBeforeLast('\n', "")?.lines()
        ?.lastOrNull { it.isNotEmpty() }?.split(' ', limit = 5)
        ?.let { Answered(it[0].toInt(), it[1].toLong(), it[2].toLong(), it[3], it[4]) }

    private val out = java.io.FileOutputStream(file, true)

    /** Writes an answer down. */
    fun answered(it: Answered) = out.write("${it.act} ${it.clock} ${it.revision} ${it.digest} ${it.what}\n".toByteArray())

    /** Keeps in full what must be there after a kill, so that a difference can be shown. */
    fun keep(whole: String) = before.writeText(whole)

    /** What was kept. */
    fun kept(): String = before.takeIf(File::exists)?.readText().orEmpty()
}
