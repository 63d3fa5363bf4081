package standsquare.preview

import java.io.File
import java.net.InetSocketAddress
import java.net.URI

/** What the preview is started with. */
data class Arguments(
    /** The phone's folder. */
    val data: File,
    /** Walk the demo into this folder instead of opening a window. */
    val pictures: File?,
    /** The office's address. */
    val office: URI,
    /** Where the reader's bytes come from. */
    val readerData: InetSocketAddress,
    /** Where the reader is told what happens to it. */
    val readerControl: InetSocketAddress,
) {
    companion object {
        const val USAGE =
            "--data DIR [--pictures DIR] --office URL --reader-data HOST:PORT --reader-control HOST:PORT"

        /** Reads the command line; a fault says what to do. */
        fun of(args: Array<String>): Arguments {
            val given = mutableMapOf<String, String>()
            val left = args.iterator()
            while (left.hasNext()) {
                val name = left.next()
                require(name in NAMES) { "'$name' is not known. Use $USAGE" }
                require(left.hasNext()) { "$name needs a value. Use $USAGE" }
                given[name] = left.next()
            }
            fun value(name: String) = requireNotNull(given[name]) { "$name is missing. Use $USAGE" }
            return Arguments(
                data = File(value("--data")),
                pictures = given["--pictures"]?.let(::File),
                office = URI(value("--office").trimEnd('/')),
                readerData = address("--reader-data", value("--reader-data")),
                readerControl = address("--reader-control", value("--reader-control")),
            )
        }

        private val NAMES = setOf("--data", "--pictures", "--office", "--reader-data", "--reader-control")

        private fun address(name: String, text: String): InetSocketAddress {
            val port = text.substringAfterLast(':', "").toIntOrNull()
            require(port != null && port in 1..65535) { "$name is HOST:PORT, not '$text'" }
            return InetSocketAddress(text.substringBeforeLast(':'), port)
        }
    }
}
