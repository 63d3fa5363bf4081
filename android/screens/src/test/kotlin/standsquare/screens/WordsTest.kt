package standsquare.screens

import java.io.File
import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Test
import standsquare.screens.words.Language
import standsquare.screens.words.Words
import standsquare.view.Arg
import standsquare.view.ArgValue
import standsquare.view.Text

/** The words are complete, for what the core says and for what the screens say. */
class WordsTest {
    private val all = Language.entries.map(Words::of)
    private val english = Words.of(Language.ENGLISH)
    private val core = File(root, "core")

    private fun sources(folder: File, ending: String) =
        folder.walk().filter { it.isFile && it.name.endsWith(ending) }.map { it.readText() }.toList()

    /** Rust without its tests: what stands there is never shown. */
    private fun rust(folder: String) = sources(File(core, folder), ".rs").map { it.substringBefore("#[cfg(test)]") }

    /** Keys written out in the session's sources: every `"group.name"` that is no file's name. */
    private fun writtenOut(): Set<String> {
        val literal = Regex("\"([a-z_]+)\\.([a-z0-9_-]+)\"")
        return rust("session/src").flatMap { literal.findAll(it) }
            .filterNot { it.groupValues[2] in setOf("sqlite", "json", "csv", "toml") }
            .map { "${it.groupValues[1]}.${it.groupValues[2]}" }.toSet()
    }

    private fun names(pattern: String, texts: List<String>) =
        texts.flatMap { Regex(pattern).findAll(it) }.map { it.groupValues[1] }.toSet()

    /** Keys put together at run time, from the lists that they are put together of. */
    private fun putTogether(): Set<String> {
        val session = rust("session/src")
        val offers = names("offer(?:_if)?\\(\\s*\"([a-z_]+)\"", session)
        val questions = names("Asked \\{\\s*id: \"([a-z_]+)\"", session)
        val stops = Regex("STOPS[^=]*=\\s*&\\[([^]]*)]").find(session.joinToString("\n"))!!.groupValues[1]
            .let { Regex("\"([a-z_]+)\"").findAll(it).map { m -> m.groupValues[1] }.toSet() }
        val corrections = Regex("REASONS_[A-Z]+[^=]*=\\s*&\\[([^]]*)]").findAll(session.joinToString("\n"))
            .flatMap { Regex("\"([a-z_]+)\"").findAll(it.groupValues[1]).map { m -> m.groupValues[1] } }.toSet()
        val reasons = measuringKeys().keys
        val flags = names("flags\\.push\\(\"([a-z-]+)\"", session) + names("\"(book-differs)\"", session) +
            reasons.filterNot { it.startsWith("tell-") || it.startsWith("do-") || it.endsWith("-before") }
        val statuses = names("=>\\s*\\(\"([a-z-]+)\", ", session)
        val referred = names("Referred \\{\\s*reason: \"([a-z_]+)\"", session)
        val book = names("\\(BookEntry::[A-Za-z]+, \"([a-z]+)\"\\)", session)
        val chipFlags = names("Self::[A-Za-z]+ => \"([a-z_]+)\"", rust("chip/src").filter { "enum ChipFlag" in it })
        val refusals = rust("chip/src").single { "pub enum Refusal" in it }.substringAfter("pub enum Refusal {").substringBefore("\n}")
            .let { Regex("\\n {4}([A-Z][A-Za-z]+)").findAll(it).map { m -> snake(m.groupValues[1]) }.toSet() }
        val places = names("\"(scan\\.[a-z_]+)\"", rust("chip/src"))
        for ((what, found) in mapOf("offers" to offers, "questions" to questions, "stops" to stops, "corrections" to corrections, "reasons" to reasons,
            "flags" to flags, "statuses" to statuses, "referred" to referred, "book" to book, "chip flags" to chipFlags,
            "refusals" to refusals, "places" to places)) assertTrue("no $what found: the sources have moved", found.isNotEmpty())
        return offers.map { "offer.$it" }.toSet() + questions.map { "question.$it" } + stops.map { "stop.$it" } +
            corrections.map { "correction.reason_$it" } +
            reasons.map { "reason.$it" } + flags.map { "flag.$it" } + statuses.map { "status.$it" } +
            referred.map { "referred.$it" } + book.map { "book.$it" } + chipFlags.map { "chip_flag.$it" } +
            refusals.map { "read.$it" } + places + "plain" + "plain_day"
    }

    private fun snake(name: String) = name.replace(Regex("(?<!^)(?=[A-Z])"), "_").lowercase()

    /** The rules' own list of keys, with the arguments that their words may use. */
    private fun measuringKeys(): Map<String, Set<String>> {
        val list = rust("measuring/src").single { "keys! {" in it }.substringAfter("\nkeys! {")
        return Regex("\"([a-z0-9-]+)\" \\(([^)]*)\\) \"").findAll(list).associate { m ->
            m.groupValues[1] to Regex("\"([a-z_]+)\"").findAll(m.groupValues[2]).map { it.groupValues[1] }.toSet()
        }
    }

    private fun has(words: Words, key: String) = words.raw(key) != null || words.raw("$key.other") != null

    @Test
    fun everyKeyOfTheCoreHasWords() {
        val keys = writtenOut() + putTogether()
        assertTrue("only ${keys.size} keys found in the core's sources", keys.size > 300)
        for (words in all) assertEquals(words.language.code, emptyList<String>(), keys.filterNot { has(words, it) }.sorted())
    }

    @Test
    fun everyKeyOfTheScreensHasWordsAndNoneIsLeftOver() {
        val screens = sources(File(root, "android/screens/src/main"), ".kt").joinToString("\n")
        val used = Regex("(?:ui|counted)\\(\\s*(?:if \\([^)]*\\) )?\"([a-z_.]+)\"").findAll(screens).map { it.groupValues[1] } +
            Regex("\"((?:[a-z_]+\\.)+[a-z_]+)\"").findAll(screens).map { it.groupValues[1] }.filter { has(english, "ui.$it") }
        for (key in used.toSet()) for (words in all) assertTrue("${words.language.code}: ui.$key", has(words, "ui.$key"))
        val unused = english.keys.filter { it.startsWith("ui.") }
            .map { it.removePrefix("ui.").removeSuffix(".count").removeSuffix(".one").removeSuffix(".other") }.toSet() - used.toSet()
        val tones = setOf("tone.good", "tone.care", "tone.bad") // put together from the tone's name
        assertEquals("words that no screen says", emptySet<String>(), unused - tones)
    }

    @Test
    fun reasonsUseOnlyTheArgumentsThatTheRulesGive() {
        for (words in all) for ((key, args) in measuringKeys()) for (form in listOf("", ".one", ".other")) {
            val text = words.raw("reason.$key$form") ?: continue
            assertTrue("${words.language.code}: reason.$key uses ${places(text) - args}", args.containsAll(places(text)))
        }
    }

    @Test
    fun allLanguagesHaveTheSameKeysAndPlaces() {
        for (words in all) {
            assertEquals(words.language.code, english.keys.sorted(), words.keys.sorted())
            // The form for one may say its number in a word.
            for (key in english.keys.filterNot { it.startsWith("format.") || it.endsWith(".count") || it.endsWith(".one") })
                assertEquals("${words.language.code}: $key", places(english.raw(key)!!), places(words.raw(key)!!))
        }
    }

    @Test
    fun pluralsAreWhole() {
        for (words in all) for (key in words.keys.filter { it.endsWith(".count") }) {
            val stem = key.removeSuffix(".count")
            assertTrue("${words.language.code}: $stem", words.raw("$stem.one") != null && words.raw("$stem.other") != null)
            assertTrue("${words.language.code}: $stem has plain words as well", words.raw(stem) == null)
        }
    }

    private fun places(text: String) = Regex("\\{([a-z_]+)}").findAll(text).map { it.groupValues[1] }.toSet()

    private fun text(key: String, vararg args: Pair<String, ArgValue>) = Text(key, args.map { Arg(it.first, it.second) })

    @Test
    fun theChoiceOfAPhoneIsTheFirstOfItsLanguagesThatThereAreWordsFor() {
        assertEquals(Language.GERMAN, Language.first(listOf("de-AT", "en-GB")))
        assertEquals(Language.FRENCH, Language.first(listOf("nl-BE", "fr_BE", "de-BE")))
        assertEquals(Language.ENGLISH, Language.first(listOf("nl")))
        assertEquals(Language.ENGLISH, Language.first(emptyList()))
        assertEquals(listOf("English", "Deutsch", "Français"), Language.entries.map { Words.of(it).name })
    }

    @Test
    fun germanAndFrenchWriteTheirOwnWay() {
        val german = Words.of(Language.GERMAN)
        assertEquals("34,6", german.centimetres(346_000))
        assertEquals("25. November 2026", german.day("2026-11-25"))
        assertEquals("9. März 2027", german.day("2027-03-09"))
        assertEquals("0 Hunde noch nicht im Büro", german.say(text("outbox.waiting", "count" to ArgValue.Count(0))))
        val french = Words.of(Language.FRENCH)
        assertEquals("34,6", french.centimetres(346_000))
        assertEquals("25 novembre 2026", french.day("2026-11-25"))
        assertEquals("1 août 2027", french.day("2027-08-01"))
        assertEquals("0 chien pas encore au secrétariat", french.say(text("outbox.waiting", "count" to ArgValue.Count(0))))
        assertEquals("2 chiens pas encore au secrétariat", french.say(text("outbox.waiting", "count" to ArgValue.Count(2))))
    }

    @Test
    fun valuesAreWrittenAsTheLanguageWritesThem() {
        assertEquals("34.6", english.centimetres(346_000))
        assertEquals("43", english.centimetres(430_000))
        assertEquals("0.1", english.centimetres(1_000))
        assertEquals("1.3", english.degrees(1_250))
        assertEquals("25 November 2026", english.day("2026-11-25"))
        assertEquals("no day", english.day("no day"))
        assertEquals("1 dog not yet at the office", english.say(text("outbox.waiting", "count" to ArgValue.Count(1))))
        assertEquals("2 dogs not yet at the office", english.say(text("outbox.waiting", "count" to ArgValue.Count(2))))
        assertEquals("35 cm < height ≤ 43 cm",
            english.say(text("height.between", "over" to ArgValue.Length(350_000), "within" to ArgValue.Length(430_000))))
        assertEquals("Not today. The dog is too nervous",
            english.say(text("outcome.not_today", "reason" to ArgValue.Word("stop.nervous"))))
        assertEquals("a name with braces is shown as it is", "No. {dog}", english.ui("dog.number", "number" to "{dog}"))
    }
}
