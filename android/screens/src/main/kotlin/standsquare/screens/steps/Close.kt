package standsquare.screens.steps

import androidx.compose.runtime.Composable
import standsquare.screens.look.*
import standsquare.view.CloseScreen
import standsquare.view.DogLine

/** What is done and what is not, before the session is closed. */
@Composable
fun Close(screen: CloseScreen) {
    val words = words
    Part(words.ui("close.measured"), screen.measured)
    Part(words.ui("close.stopped"), screen.stopped)
    Part(words.ui("close.not_seen"), screen.notSeen)
}

@Composable
private fun Part(title: String, dogs: List<DogLine>) {
    Heading("$title: ${dogs.size}")
    for (dog in dogs) DogRow(dog, hand = null)
}
