package standsquare.preview.monkey

import java.io.File
import java.net.URI
import kotlin.system.exitProcess

/** Something that must not be: the run's seed, the act and the screen are in the message. */
class MonkeyFound(message: String) : Exception(message)

private const val USAGE = "--data DIR --office URL --seed NUMBER --acts COUNT --kill-one-in COUNT"

/**
 * Random acts on the real screens over the real core. One process of a run: it
 * goes on where the one before was killed, kills itself where the seed says so,
 * and leaves the journal and the files of the return in the data folder at the end.
 * Exits with 0 when all acts are done.
 */
fun main(args: Array<String>) {
    val given = args.toList().chunked(2).associate { it.first() to it.getOrElse(1) { "" } }
    fun value(name: String) = given[name] ?: run {
        System.err.println("$name is missing. Use $USAGE")
        exitProcess(2)
    }
    val seed = value("--seed").toLong()
    val code = try {
        Monkey(File(value("--data")), URI(value("--office")), seed, value("--acts").toInt(), value("--kill-one-in").toInt()).run()
        0
    } catch (fault: Throwable) {
        System.err.println("seed $seed: $fault")
        fault.printStackTrace()
        1
    }
    // Threads of the toolkit would keep the process alive.
    exitProcess(code)
}
