package standsquare.screens.words

import java.math.BigDecimal
import java.time.LocalDate
import java.time.format.DateTimeFormatter
import java.util.Locale
import kotlinx.serialization.json.Json
import kotlinx.serialization.json.jsonObject
import kotlinx.serialization.json.jsonPrimitive
import standsquare.view.Arg
import standsquare.view.ArgValue
import standsquare.view.Text

/** A language there are words for; [code] is the file's name and an ISO 639-1 code. */
enum class Language(val code: String) {
    ENGLISH("en"),
    GERMAN("de"),
    FRENCH("fr");

    /** For month names. English is British: day before month. */
    val locale: Locale get() = if (this == ENGLISH) Locale.UK else Locale.forLanguageTag(code)

    companion object {
        /** The language of this code, if there are words for it. */
        fun of(code: String): Language? = entries.firstOrNull { it.code == code }

        /**
         * The first of a person's languages, in their order (`de-AT`, `fr`), that there
         * are words for; English if there is none.
         */
        fun first(preferred: List<String>): Language =
            preferred.firstNotNullOfOrNull { of(it.substringBefore('-').substringBefore('_').lowercase()) } ?: ENGLISH
    }
}

/**
 * The words of one language, as `bindings/words/README.md` lays down.
 *
 * A key without words is shown as the key itself: a measurer at the table is
 * better served by a strange word than by nothing, and the tests find it first.
 */
class Words(private val texts: Map<String, String>, val language: Language) {
    private val day = DateTimeFormatter.ofPattern(texts["format.day"] ?: "yyyy-MM-dd", language.locale)
    private val decimal = texts["format.decimal"] ?: "."
    private val singular: (Long) -> Boolean = when (texts["format.plural"]) {
        "one-is-0-and-1" -> { n -> n == 0L || n == 1L }
        else -> { n -> n == 1L }
    }

    /** The language's name in itself. */
    val name: String = texts["format.language"] ?: language.code

    /** All keys, for the tests. */
    val keys: Set<String> get() = texts.keys

    /** The raw words of a key, for the tests. */
    fun raw(key: String): String? = texts[key]

    /** A message of the core in words. */
    fun say(text: Text): String = say(text.key, text.args)

    /** The words of one of the screens' own keys; [args] are shown as they are. */
    fun ui(key: String, vararg args: Pair<String, String>): String =
        say("ui.$key", args.map { (name, value) -> Arg(name, ArgValue.Plain(value)) })

    /** The same, in the plural that [count] calls for. */
    fun counted(key: String, count: Long): String {
        val by = texts["ui.$key.count"] ?: "count"
        return say("ui.$key", listOf(Arg(by, ArgValue.Count(count))))
    }

    /** A calendar day written `YYYY-MM-DD`, in the language's way; as it is if it is none. */
    fun day(iso: String): String = try {
        LocalDate.parse(iso).format(day)
    } catch (_: java.time.DateTimeException) {
        iso
    }

    /** Micrometres as centimetres, without the unit. */
    fun centimetres(um: Long): String = number(BigDecimal.valueOf(um).movePointLeft(4))

    /** Thousandths of a degree as degrees with one decimal, without the sign. */
    fun degrees(mdeg: Int): String =
        number(BigDecimal.valueOf(mdeg.toLong(), 3).setScale(1, java.math.RoundingMode.HALF_UP))

    private fun number(value: BigDecimal): String {
        val plain = if (value.signum() == 0) "0" else value.stripTrailingZeros().toPlainString()
        return plain.replace(".", decimal)
    }

    private fun say(key: String, args: List<Arg>): String {
        val pattern = pattern(key, args) ?: return key
        // One pass: a name that happens to hold braces is not filled again.
        return PLACE.replace(pattern) { place ->
            args.firstOrNull { it.name == place.groupValues[1] }?.let { value(it.value) } ?: place.value
        }
    }

    private fun pattern(key: String, args: List<Arg>): String? {
        texts[key]?.let { return it }
        val by = texts["$key.count"] ?: return null
        val n = (args.firstOrNull { it.name == by }?.value as? ArgValue.Count)?.n ?: return texts["$key.other"]
        return texts[if (singular(n)) "$key.one" else "$key.other"]
    }

    private fun value(value: ArgValue): String = when (value) {
        is ArgValue.Plain -> value.text
        is ArgValue.Count -> value.n.toString()
        is ArgValue.Length -> centimetres(value.um)
        is ArgValue.Day -> day(value.iso)
        is ArgValue.Word -> say(value.key, emptyList())
    }

    companion object {
        private val PLACE = Regex("""\{([a-z_]+)}""")

        /** Reads the words of a language from the app's own files. */
        fun of(language: Language): Words {
            val name = "/words/${language.code}.json"
            val file = checkNotNull(Words::class.java.getResourceAsStream(name)) { "the app lacks $name" }
            val texts = file.use { Json.parseToJsonElement(it.readBytes().decodeToString()) }
            return Words(texts.jsonObject.mapValues { it.value.jsonPrimitive.content }, language)
        }
    }
}
