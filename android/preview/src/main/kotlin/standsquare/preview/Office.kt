package standsquare.preview

import java.io.IOException
import java.net.URI
import java.net.http.HttpClient
import java.net.http.HttpRequest
import java.net.http.HttpResponse.BodyHandlers
import java.time.Duration
import standsquare.view.Act
import standsquare.view.Effect

/** The office over HTTP. It carries bodies; what they mean is the core's business. */
class Office(private val address: URI) {
    private val client = HttpClient.newBuilder().connectTimeout(PATIENCE).build()

    /** Whether the phone has any network now; the strip turns it off. */
    @Volatile var network = true

    /** Where packets for the office of this address go; nowhere without a network. */
    fun packetsTo(named: String): String = if (network) named.ifEmpty { "$address" } else ""

    /** The roster's text. */
    fun roster(): String {
        if (!network) throw IOException("no network")
        val request = HttpRequest.newBuilder(URI("$address/v1/roster")).timeout(PATIENCE).GET().build()
        val answer = client.send(request, BodyHandlers.ofString())
        if (answer.statusCode() != 200) throw IOException("the office answered ${answer.statusCode()} to the roster")
        return answer.body()
    }

    /** Posts what the core asks for and gives the act that tells it the answer. */
    fun ask(asked: Effect.AskOffice): Act = try {
        if (!network) throw IOException("no network")
        val request = HttpRequest.newBuilder(URI("${asked.address.ifEmpty { "$address" }}${asked.path}")).timeout(PATIENCE)
            .header("Content-Type", "application/octet-stream")
            .POST(HttpRequest.BodyPublishers.ofByteArray(asked.body)).build()
        val answer = client.send(request, BodyHandlers.ofByteArray())
        Act.OfficeAnswer(asked.request, answer.statusCode().toUShort(), answer.body())
    } catch (fault: IOException) {
        Act.OfficeUnreachable(asked.request, fault.toString())
    } catch (_: InterruptedException) {
        Thread.currentThread().interrupt()
        Act.OfficeUnreachable(asked.request, "given up")
    }

    private companion object {
        val PATIENCE: Duration = Duration.ofSeconds(15)
    }
}
