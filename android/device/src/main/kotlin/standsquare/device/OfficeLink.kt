package standsquare.device

import java.io.IOException
import java.net.HttpURLConnection
import java.net.URI

/** What came of a request. */
sealed interface OfficeReply {
    /** The office answered, with this HTTP status and body. */
    class Answered(val status: Int, val body: ByteArray) : OfficeReply

    /** There was no answer; the reason is for the log only. */
    class Unreachable(val reason: String) : OfficeReply
}

/**
 * Carries a request to the office that enrolled this phone, and its answer back. When to send,
 * and what the answer means, is for the core.
 */
class OfficeLink {
    /** Posts a body to this path at the office of this address. Blocks. */
    fun ask(address: String, path: String, body: ByteArray): OfficeReply {
        if (address.isEmpty()) return OfficeReply.Unreachable("no office has enrolled this phone")
        return try {
            val to = URI(address + path).toURL().openConnection() as HttpURLConnection
            try {
                answer(to, body)
            } finally {
                to.disconnect()
            }
        } catch (fault: IOException) {
            OfficeReply.Unreachable(fault.toString())
        }
    }

    private fun answer(to: HttpURLConnection, posted: ByteArray): OfficeReply {
        to.requestMethod = "POST"
        to.connectTimeout = PATIENCE_MS
        to.readTimeout = PATIENCE_MS
        // Signed bodies go where the code said, nowhere else.
        to.instanceFollowRedirects = false
        to.doOutput = true
        to.setRequestProperty("Content-Type", "application/octet-stream")
        to.setFixedLengthStreamingMode(posted.size)
        to.outputStream.use { out ->
            // TLS makes a record of each write, and the office reads a record when all of it is there.
            for (at in posted.indices step AT_ONCE) {
                out.write(posted, at, minOf(AT_ONCE, posted.size - at))
                out.flush()
            }
        }
        val status = to.responseCode
        val from = if (status < FIRST_ERROR) to.inputStream else to.errorStream
        val body = from?.use { it.readAtMost(MOST) } ?: byteArrayOf()
        return OfficeReply.Answered(status, body)
    }

    private companion object {
        const val PATIENCE_MS = 15_000
        const val FIRST_ERROR = 400

        /** Bytes written at once: `WRITE_AT_ONCE` in core/sync, which says why. */
        const val AT_ONCE = 1_300

        /** Longest answer, bytes: far beyond a roster of ten thousand dogs. Own choice, no source. */
        const val MOST = 16 * 1024 * 1024
    }
}

private fun java.io.InputStream.readAtMost(most: Int): ByteArray {
    val read = java.io.ByteArrayOutputStream()
    val piece = ByteArray(8192)
    while (true) {
        val count = read(piece)
        if (count < 0) return read.toByteArray()
        read.write(piece, 0, count)
        if (read.size() > most) throw IOException("the answer is longer than $most bytes")
    }
}
