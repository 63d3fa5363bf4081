package standsquare.screens.steps

import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.ExperimentalLayoutApi
import androidx.compose.foundation.layout.FlowRow
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.runtime.Composable
import androidx.compose.runtime.remember
import androidx.compose.ui.Modifier
import standsquare.screens.frame.Hand
import standsquare.screens.frame.LocalLooks
import standsquare.screens.frame.Theme
import standsquare.screens.look.*
import standsquare.screens.words.Language
import standsquare.screens.words.Words
import standsquare.state.PhoneEvent
import standsquare.view.PageScreen

/** The person's choices, which the platform keeps, and what is on this phone. */
@Composable
fun Settings(screen: PageScreen, hand: Hand, onEvent: (PhoneEvent) -> Unit) {
    val words = words
    val looks = LocalLooks.current
    Languages { onEvent(PhoneEvent.ChooseLanguage(it.code)) }
    Heading(words.ui("settings.theme"))
    for (theme in Theme.entries) Choice("theme:${theme.code}", words.ui(nameOf(theme)), theme == looks.theme) {
        onEvent(PhoneEvent.ChooseTheme(theme.code))
    }
    Heading(words.ui("settings.told"))
    Choice("sounds", words.ui("settings.sounds"), looks.sounds) { onEvent(PhoneEvent.Sounds(!looks.sounds)) }
    Choice("buzzes", words.ui("settings.buzzes"), looks.buzzes) { onEvent(PhoneEvent.Buzzes(!looks.buzzes)) }
    Say(words.ui("settings.type_size"), Size.BODY)
    Page(screen, hand)
}

private fun nameOf(theme: Theme) = when (theme) {
    Theme.SUN -> "settings.theme_sun"
    Theme.DARK -> "settings.theme_dark"
    Theme.PHONE -> "settings.theme_phone"
}

@Composable
private fun Choice(tag: String, label: String, chosen: Boolean, onTap: () -> Unit) = Touch(
    label, if (chosen) Faces.chosen() else Faces.other(), tag, onTap, Modifier.fillMaxWidth(),
    if (chosen) Mark.TICK else Mark.DOT, chosen = chosen,
)

/** The languages, each named in itself. */
@OptIn(ExperimentalLayoutApi::class)
@Composable
fun Languages(choose: (Language) -> Unit) {
    val words = words
    Heading(words.ui("language"))
    FlowRow(Modifier.fillMaxWidth(), Arrangement.spacedBy(GAP), Arrangement.spacedBy(GAP)) {
        for (language in Language.entries) {
            val chosen = language == words.language
            val name = remember(language) { Words.of(language).name }
            Touch(name, if (chosen) Faces.chosen() else Faces.other(), "language:${language.code}", { choose(language) },
                mark = if (chosen) Mark.TICK else null, chosen = chosen)
        }
    }
}
