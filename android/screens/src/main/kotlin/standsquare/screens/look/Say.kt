package standsquare.screens.look

import androidx.compose.foundation.text.BasicText
import androidx.compose.runtime.Composable
import androidx.compose.runtime.staticCompositionLocalOf
import androidx.compose.ui.Modifier
import androidx.compose.ui.graphics.Color
import androidx.compose.ui.text.TextStyle
import androidx.compose.ui.text.font.FontFamily
import androidx.compose.ui.text.font.FontWeight
import androidx.compose.ui.text.style.TextAlign
import androidx.compose.ui.unit.sp
import standsquare.screens.words.Language
import standsquare.screens.words.Words

/** The words in use. */
val LocalWords = staticCompositionLocalOf { Words.of(Language.ENGLISH) }

/** The words in use. */
val words: Words @Composable get() = LocalWords.current

/** The typeface in use: given by the platform, since each loads fonts in its own way. */
val LocalTypeface = staticCompositionLocalOf<FontFamily> { FontFamily.Default }

/** Sizes of type. Nothing is smaller than [SMALL]. */
enum class Size(val sp: Int, val weight: FontWeight) {
    /** The verdict. */
    HUGE(44, FontWeight.Bold),
    /** A number to compare, a PIN. */
    LARGE(30, FontWeight.Bold),
    /** The screen's heading. */
    TITLE(25, FontWeight.Bold),
    /** A button, a name. */
    STRONG(19, FontWeight.Bold),
    /** Running words. */
    BODY(17, FontWeight.Normal),
    /** Running words that matter. */
    BODY_STRONG(17, FontWeight.SemiBold),
    /** Beside something larger. */
    SMALL(15, FontWeight.Normal),
}

/** Words on the screen, never cut off: they wrap. */
@Composable
fun Say(
    text: String,
    size: Size = Size.BODY,
    color: Color = palette.page.ink,
    modifier: Modifier = Modifier,
    align: TextAlign = TextAlign.Start,
    digits: Boolean = false,
) {
    BasicText(
        text = text,
        modifier = modifier,
        style = TextStyle(
            color = color,
            fontFamily = LocalTypeface.current,
            fontSize = size.sp.sp,
            lineHeight = (size.sp * if (size.sp > 24) 1.15 else 1.3).sp,
            fontWeight = size.weight,
            textAlign = align,
            // Digits of one width, so that two numbers stand digit over digit.
            fontFeatureSettings = if (digits) "tnum" else null,
        ),
    )
}
