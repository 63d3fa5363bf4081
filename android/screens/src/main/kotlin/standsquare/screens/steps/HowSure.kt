package standsquare.screens.steps

import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import androidx.compose.ui.platform.testTag
import standsquare.screens.look.*
import standsquare.view.Text

/** How sure the category is: a quiet line, where the body's rules show it. */
@Composable
fun HowSure(line: Text?) {
    if (line != null) Say(words.say(line), Size.BODY, palette.soft, Modifier.testTag("how-sure"))
}
