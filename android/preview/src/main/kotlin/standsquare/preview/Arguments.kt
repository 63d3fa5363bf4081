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
    /** The readers in range. */
    val readers: List<EmulatedReader>,
) {
    companion object {
        const val USAGE =
            "--data DIR [--pictures DIR] --office URL --reader ID,NAME,HOST:PORT,HOST:PORT [--reader …]"

        /** Reads the command line; a fault says what to do. */
        fun of(args: Array<String>): Arguments {
            val given = mutableMapOf<String, String>()
            val readers = mutableListOf<EmulatedReader>()
            val left = args.iterator()
            while (left.hasNext()) {
                val name = left.next()
                require(name in NAMES) { "'$name' is not known. Use $USAGE" }
                require(left.hasNext()) { "$name needs a value. Use $USAGE" }
                if (name == "--reader") readers += reader(left.next()) else given[name] = left.next()
            }
            fun value(name: String) = requireNotNull(given[name]) { "$name is missing. Use $USAGE" }
            return Arguments(
                data = File(value("--data")),
                pictures = given["--pictures"]?.let(::File),
                office = URI(value("--office").trimEnd('/')),
                readers = readers.ifEmpty { throw IllegalArgumentException("--reader is missing. Use $USAGE") },
            )
        }

        private val NAMES = setOf("--data", "--pictures", "--office", "--reader")

        /** What it is known by, its name, where its bytes come from, where it is told what happens to it. */
        private fun reader(text: String): EmulatedReader {
            val parts = text.split(',')
            require(parts.size == 4 && parts[0].isNotEmpty()) { "--reader is ID,NAME,HOST:PORT,HOST:PORT, not '$text'" }
            return EmulatedReader(parts[0], parts[1], address("--reader", parts[2]), address("--reader", parts[3]))
        }

        private fun address(name: String, text: String): InetSocketAddress {
            val port = text.substringAfterLast(':', "").toIntOrNull()
            require(port != null && port in 1..65535) { "$name is HOST:PORT, not '$text'" }
            return InetSocketAddress(text.substringBeforeLast(':'), port)
        }
    }
}
