package standsquare.screens.look

import androidx.compose.foundation.background
import androidx.compose.foundation.border
import androidx.compose.foundation.layout.Box
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.heightIn
import androidx.compose.foundation.layout.padding
import androidx.compose.foundation.text.BasicTextField
import androidx.compose.foundation.text.KeyboardActions
import androidx.compose.foundation.text.KeyboardOptions
import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.graphics.SolidColor
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.semantics.contentDescription
import androidx.compose.ui.semantics.semantics
import androidx.compose.ui.text.TextStyle
import androidx.compose.ui.text.input.ImeAction
import androidx.compose.ui.text.input.KeyboardCapitalization
import androidx.compose.ui.text.input.KeyboardType
import androidx.compose.ui.unit.dp
import androidx.compose.ui.unit.sp

/** A line to type into with the phone's own keyboard, under its name. */
@Composable
fun TypedLine(
    tag: String,
    name: String,
    typed: String,
    onTyped: (String) -> Unit,
    digits: Boolean,
    last: Boolean = true,
    onDone: () -> Unit,
) {
    Heading(name)
    BasicTextField(
        typed, onTyped,
        Modifier.fillMaxWidth().testTag(tag).semantics { contentDescription = name }
            .background(palette.card.ground, CORNER).border(2.dp, palette.line, CORNER).heightIn(min = TOUCH),
        textStyle = TextStyle(palette.card.ink, 19.sp, fontFamily = LocalTypeface.current),
        cursorBrush = SolidColor(palette.card.ink),
        singleLine = true,
        keyboardOptions = KeyboardOptions(
            KeyboardCapitalization.Words,
            keyboardType = if (digits) KeyboardType.Number else KeyboardType.Text,
            imeAction = if (last) ImeAction.Done else ImeAction.Next,
        ),
        // Inside the field, so that all of it can be touched.
        decorationBox = { line -> Box(Modifier.padding(16.dp)) { line() } },
        keyboardActions = if (last) KeyboardActions { onDone() } else KeyboardActions.Default,
    )
}
