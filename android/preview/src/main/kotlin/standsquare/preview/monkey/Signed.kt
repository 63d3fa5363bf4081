package standsquare.preview.monkey

import kotlinx.serialization.json.Json
import kotlinx.serialization.json.JsonObject
import kotlinx.serialization.json.jsonArray
import kotlinx.serialization.json.jsonObject
import kotlinx.serialization.json.jsonPrimitive
import standsquare.view.Screen
import standsquare.view.View

/** How many have to answer for a dog in the demo's league. */
const val SIGN_OFFS = 2

/** Dogs in `session.json`; fails where one has an outcome and fewer than two people, on the phone or on paper, answer for it. */
fun answeredFor(sessionJson: String): Int {
    if (sessionJson.isEmpty()) return 0
    val dogs = Json.parseToJsonElement(sessionJson).jsonObject.getValue("dogs").jsonArray.map { it.jsonObject }
    for (dog in dogs) {
        val by = (names(dog, "signed_by") { it.jsonPrimitive.content } +
            names(dog, "on_paper") { it.jsonObject.getValue("name").jsonPrimitive.content }).toSet()
        if (by.size < SIGN_OFFS) throw MonkeyFound("a dog is in session.json with $by alone to answer for it: $dog")
    }
    return dogs.size
}

private fun names(dog: JsonObject, key: String, name: (kotlinx.serialization.json.JsonElement) -> String) =
    dog[key]?.jsonArray.orEmpty().map(name)

/** Rows of `return.csv`, its head left out; fails where one names fewer than two people. Names have no comma in the demo's league. */
fun rowsAnsweredFor(csv: String): Int {
    // A bite or a fall between two dogs has a row of its own, without a dog's number.
    val rows = csv.split("\r\n").filter { it.isNotEmpty() }.drop(1).filter { it.split(BETWEEN).getOrNull(NUMBER) != "" }
    for (row in rows) {
        val by = row.substringAfterLast(',').trim('"').split("; ").filter { it.isNotBlank() }.toSet()
        if (by.size < SIGN_OFFS) throw MonkeyFound("a dog is in return.csv with $by alone to answer for it: $row")
    }
    return rows.size
}

/** Where a dog's number stands in a row. */
private const val NUMBER = 5

/** A comma between two fields, not one in a quoted field (RFC 4180): an even number of quotes follows it. */
private val BETWEEN = Regex(",(?=(?:[^\"]*\"[^\"]*\")*[^\"]*$)")

/** Fails where a screen goes from the signatures to what follows them while more than one was still wanted. */
fun stepFromSigning(before: View, after: View) {
    val seats = when (val screen = before.screen) {
        is Screen.Sign -> screen.sign.seats
        else -> return
    }
    val done = after.screen is Screen.BookLine || after.screen is Screen.Tell
    val wanted = seats.count { !it.signed && it.paper == null }
    if (done && after.dog?.id == before.dog?.id && wanted > 1)
        throw MonkeyFound("${before.dog?.name} went on from the signatures with $wanted still wanted")
}
