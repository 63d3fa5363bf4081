package standsquare.device

import java.io.IOException
import java.net.HttpURLConnection
import java.net.URI
import standsquare.view.Act
import standsquare.view.Effect

/**
 * Carries a request to the office that enrolled this phone, and its answer back. When to send,
 * and what the answer means, is for the core.
 */
class OfficeLink {
    /** Posts what the core asks for and gives the act that tells it the answer. Blocks. */
    fun ask(asked: Effect.AskOffice): Act {
        if (asked.address.isEmpty()) return Act.OfficeUnreachable(asked.request, "no office has enrolled this phone")
        return try {
            val to = URI(asked.address + asked.path).toURL().openConnection() as HttpURLConnection
            try {
                answer(to, asked)
            } finally {
                to.disconnect()
            }
        } catch (fault: IOException) {
            Act.OfficeUnreachable(asked.request, fault.toString())
        }
    }

    private fun answer(to: HttpURLConnection, asked: Effect.AskOffice): Act {
        to.requestMethod = "POST"
        to.connectTimeout = PATIENCE_MS
        to.readTimeout = PATIENCE_MS
        // Signed bodies go where the code said, nowhere else.
        to.instanceFollowRedirects = false
        to.doOutput = true
        to.setRequestProperty("Content-Type", "application/octet-stream")
        to.setFixedLengthStreamingMode(asked.body.size)
        to.outputStream.use { it.write(asked.body) }
        val status = to.responseCode
        val from = if (status < FIRST_ERROR) to.inputStream else to.errorStream
        val body = from?.use { it.readAtMost(MOST) } ?: byteArrayOf()
        return Act.OfficeAnswer(asked.request, status.toUShort(), body)
    }

    private companion object {
        const val PATIENCE_MS = 15_000
        const val FIRST_ERROR = 400

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
