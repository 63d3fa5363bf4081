package standsquare.screens.frame

import androidx.compose.foundation.background
import androidx.compose.foundation.border
import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.ExperimentalLayoutApi
import androidx.compose.foundation.layout.FlowRow
import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.Spacer
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.padding
import androidx.compose.foundation.layout.width
import androidx.compose.foundation.shape.RoundedCornerShape
import androidx.compose.runtime.Composable
import androidx.compose.ui.Alignment
import androidx.compose.ui.Modifier
import androidx.compose.ui.draw.clip
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.semantics.contentDescription
import androidx.compose.ui.semantics.heading
import androidx.compose.ui.semantics.semantics
import androidx.compose.ui.unit.dp
import standsquare.screens.look.BrightSun
import standsquare.screens.look.CORNER
import standsquare.screens.look.Faces
import standsquare.screens.look.LocalPalette
import standsquare.screens.look.Mark
import standsquare.screens.look.Say
import standsquare.screens.look.Size
import standsquare.screens.look.Small
import standsquare.screens.look.Toned
import standsquare.screens.look.Touch
import standsquare.screens.look.palette
import standsquare.screens.look.words
import standsquare.state.PhoneEvent
import standsquare.view.DogCard
import standsquare.view.ReaderLink
import standsquare.view.Text
import standsquare.view.View

/** The topmost strip: whose session, the demo's mark, the reader, what is to be sent, the look. */
@OptIn(ExperimentalLayoutApi::class)
@Composable
fun TopStrip(view: View, onEvent: (PhoneEvent) -> Unit) {
    val words = words
    Row(Modifier.fillMaxWidth(), verticalAlignment = Alignment.CenterVertically) {
        Column(Modifier.weight(1f), verticalArrangement = Arrangement.spacedBy(2.dp)) {
            if (view.demo) DemoMark()
            else if (view.league.isNotEmpty()) Say(view.league, Size.SMALL, palette.soft)
            FlowRow(horizontalArrangement = Arrangement.spacedBy(14.dp)) {
                ReaderBadge(view)
                Small(Mark.SEND, words.say(view.outbox.text), modifier = Modifier.testTag("outbox"))
            }
        }
        Spacer(Modifier.width(8.dp))
        val sunny = LocalPalette.current === BrightSun
        val name = words.ui(if (sunny) "look.to_dark" else "look.to_sun")
        Touch("", Faces.other(), "look", { onEvent(PhoneEvent.ChangeTheme) },
            Modifier.semantics { contentDescription = name }, if (sunny) Mark.MOON else Mark.SUN)
    }
}

/** On every screen of an invented league. */
@Composable
internal fun DemoMark() {
    val colours = palette.demo
    Say(
        words.say(Text("demo.mark", emptyList())), Size.BODY_STRONG, colours.ink,
        Modifier.testTag("demo").clip(RoundedCornerShape(6.dp)).background(colours.ground)
            .padding(horizontal = 10.dp, vertical = 2.dp),
    )
}

@Composable
private fun ReaderBadge(view: View) {
    val words = words
    val (mark, key) = when (view.reader.link) {
        ReaderLink.NONE -> Mark.READER_GONE to "reader.none"
        ReaderLink.LOOKING -> Mark.AGAIN to "reader.looking"
        ReaderLink.CONNECTED -> Mark.READER to "reader.connected"
        ReaderLink.LOST -> Mark.READER_GONE to "reader.lost"
    }
    Small(mark, words.ui(key), modifier = Modifier.testTag("reader:${view.reader.link.name.lowercase()}"))
}

/** The heading, the dog in hand, and what just happened. */
@Composable
fun Head(view: View) {
    val words = words
    Column(verticalArrangement = Arrangement.spacedBy(8.dp)) {
        Say(words.say(view.title), Size.TITLE, palette.page.ink,
            Modifier.testTag("title:${view.title.key}").semantics { heading() })
        view.dog?.let { Dog(it) }
        view.notice?.let { Toned(it.tone, words.say(it.text), "notice:${it.text.key}", speaks = true) }
    }
}

@OptIn(ExperimentalLayoutApi::class)
@Composable
private fun Dog(dog: DogCard) {
    val words = words
    Column(
        Modifier.fillMaxWidth().testTag("card:${dog.id}").semantics(mergeDescendants = true) {}
            .clip(CORNER).background(palette.card.ground).border(2.dp, palette.line, CORNER)
            .padding(horizontal = 12.dp, vertical = 8.dp),
    ) {
        FlowRow(horizontalArrangement = Arrangement.spacedBy(12.dp), verticalArrangement = Arrangement.Center) {
            Say(dog.name, Size.TITLE, palette.card.ink)
            Say(words.ui("dog.handler", "handler" to dog.handler), Size.BODY, palette.soft, Modifier.padding(top = 6.dp))
        }
        FlowRow(horizontalArrangement = Arrangement.spacedBy(12.dp)) {
            Say(dog.chip, Size.BODY_STRONG, palette.card.ink, digits = true)
            Say(dog.measure?.let(words::say) ?: words.ui("dog.number", "number" to dog.number.toString()),
                Size.BODY, palette.soft)
        }
    }
}
