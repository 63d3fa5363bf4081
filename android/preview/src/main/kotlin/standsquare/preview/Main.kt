package standsquare.preview

import kotlin.system.exitProcess

/**
 * The phone's screens on a desktop, over the real core: in a window, or with
 * `--pictures DIR` walked into pictures. Exits with 0 only if all went well.
 */
fun main(args: Array<String>) {
    val arguments = try {
        Arguments.of(args)
    } catch (fault: IllegalArgumentException) {
        System.err.println(fault.message)
        exitProcess(2)
    }
    val code = try {
        if (arguments.pictures == null) window(arguments) else walkInto(arguments, arguments.pictures)
        0
    } catch (stopped: WalkStopped) {
        System.err.println(stopped.message)
        1
    } catch (fault: java.awt.HeadlessException) {
        System.err.println("There is no display: add --pictures DIR to walk the demo into pictures.")
        2
    }
    // The window's own threads would keep the process alive.
    exitProcess(code)
}
