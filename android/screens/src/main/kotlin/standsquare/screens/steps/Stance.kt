package standsquare.screens.steps

import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.runtime.Composable
import androidx.compose.ui.Modifier
import standsquare.screens.look.*
import standsquare.view.StanceScreen
import standsquare.view.Tone

/** Stand it square: what that means, drawn and said. */
@Composable
fun Stance(screen: StanceScreen) {
    val words = words
    if (screen.again) Toned(Tone.CARE, words.ui("stance.again"), "stance-again")
    Card { DogDrawing(hoop = false, Modifier.fillMaxWidth()) }
    Points(screen.points.map(words::say))
}
