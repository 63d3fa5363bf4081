package standsquare.screens.look

import androidx.compose.foundation.background
import androidx.compose.foundation.border
import androidx.compose.foundation.layout.Arrangement
import androidx.compose.foundation.layout.Box
import androidx.compose.foundation.layout.Column
import androidx.compose.foundation.layout.ColumnScope
import androidx.compose.foundation.layout.IntrinsicSize
import androidx.compose.foundation.layout.Row
import androidx.compose.foundation.layout.Spacer
import androidx.compose.foundation.layout.fillMaxHeight
import androidx.compose.foundation.layout.fillMaxWidth
import androidx.compose.foundation.layout.height
import androidx.compose.foundation.layout.padding
import androidx.compose.foundation.layout.width
import androidx.compose.foundation.shape.RoundedCornerShape
import androidx.compose.runtime.Composable
import androidx.compose.ui.Alignment
import androidx.compose.ui.Modifier
import androidx.compose.ui.draw.clip
import androidx.compose.ui.graphics.Color
import androidx.compose.ui.platform.LocalDensity
import androidx.compose.ui.platform.testTag
import androidx.compose.ui.semantics.LiveRegionMode
import androidx.compose.ui.semantics.heading
import androidx.compose.ui.semantics.liveRegion
import androidx.compose.ui.semantics.semantics
import androidx.compose.ui.semantics.stateDescription
import androidx.compose.ui.unit.dp
import standsquare.view.StatementLine
import standsquare.view.Text
import standsquare.view.Tone
import standsquare.view.Whereabouts

/** A plain area for things that belong together. */
@Composable
fun Card(modifier: Modifier = Modifier, content: @Composable ColumnScope.() -> Unit) {
    Column(
        modifier.fillMaxWidth().clip(CORNER).background(palette.card.ground)
            .padding(horizontal = 14.dp, vertical = 12.dp),
        verticalArrangement = Arrangement.spacedBy(6.dp),
        content = content,
    )
}

/** A heading inside a screen. */
@Composable
fun Heading(text: String) =
    Say(text, Size.BODY_STRONG, palette.soft, Modifier.semantics { heading() })

/** The colours and mark of a tone. */
@Composable
fun toneColours(tone: Tone): Pair<Pair7, Mark> = when (tone) {
    Tone.GOOD -> palette.good to Mark.TICK
    Tone.CARE -> palette.care to Mark.CARE
    Tone.BAD -> palette.bad to Mark.OCTAGON
}

/** A message with a tone: mark, words and colour together. */
@Composable
fun Toned(tone: Tone, text: String, tag: String, modifier: Modifier = Modifier, speaks: Boolean = false, size: Size = Size.BODY_STRONG) {
    val (colours, mark) = toneColours(tone)
    val said = words.ui(
        when (tone) {
            Tone.GOOD -> "tone.good"
            Tone.CARE -> "tone.care"
            Tone.BAD -> "tone.bad"
        },
    )
    Row(
        modifier.fillMaxWidth().testTag(tag).semantics(mergeDescendants = true) {
            // The mark, for who does not see it.
            stateDescription = said
            if (speaks) liveRegion = LiveRegionMode.Polite
        }
            .clip(CORNER).background(colours.ground).border(2.dp, colours.ink, CORNER)
            .padding(12.dp),
        verticalAlignment = Alignment.CenterVertically,
    ) {
        Sign(mark, colours.ink, 28.dp)
        Spacer(Modifier.width(12.dp))
        Say(text, size, colours.ink)
    }
}

/** What could hurt here: short lines behind one bar, never a wall of text. */
@Composable
fun Cautions(cautions: List<Text>) {
    if (cautions.isEmpty()) return
    val words = words
    Row(Modifier.fillMaxWidth().height(IntrinsicSize.Min).testTag("cautions")) {
        Box(Modifier.width(6.dp).fillMaxHeight().clip(RoundedCornerShape(3.dp)).background(palette.care.ink))
        Column(Modifier.padding(start = 10.dp), verticalArrangement = Arrangement.spacedBy(4.dp)) {
            for (caution in cautions) {
                val said = words.ui("caution")
                Row(Modifier.semantics(mergeDescendants = true) { stateDescription = said }, verticalAlignment = Alignment.CenterVertically) {
                    Sign(Mark.CARE, palette.page.ink, 22.dp)
                    Spacer(Modifier.width(8.dp))
                    Say(words.say(caution), Size.BODY, palette.page.ink)
                }
            }
        }
    }
}

/** A list of short points. */
@Composable
fun Points(points: List<String>, mark: Mark = Mark.DOT, color: Color = palette.page.ink) {
    Column(verticalArrangement = Arrangement.spacedBy(6.dp)) {
        for (point in points) Row(Modifier.semantics(mergeDescendants = true) {}) {
            Sign(mark, color, 20.dp, Modifier.padding(top = 2.dp))
            Spacer(Modifier.width(10.dp))
            Say(point, Size.BODY, color)
        }
    }
}

/** Label and value: side by side, or one under the other where type is [large], so that words fit at any size. */
@Composable
fun Statement(lines: List<StatementLine>, large: Boolean = false) {
    val words = words
    val beside = !large && LocalDensity.current.fontScale < 1.3f
    for (line in lines) {
        val label = words.say(line.label)
        val value = words.say(line.value)
        if (beside) Row(Modifier.semantics(mergeDescendants = true) {}) {
            Say(label, Size.SMALL, palette.soft, Modifier.weight(2f).padding(top = 2.dp, end = 8.dp))
            Say(value, Size.BODY_STRONG, palette.card.ink, Modifier.weight(3f), digits = true)
        } else Column(Modifier.semantics(mergeDescendants = true) {}) {
            Say(label, Size.SMALL, palette.soft)
            Say(value, if (large) Size.STRONG else Size.BODY_STRONG, palette.card.ink, digits = true)
        }
    }
}

/** A mark and small words on one line. */
@Composable
fun Small(mark: Mark, text: String, color: Color = palette.soft, modifier: Modifier = Modifier) {
    Row(modifier.semantics(mergeDescendants = true) {}, verticalAlignment = Alignment.CenterVertically) {
        Sign(mark, color, 18.dp)
        Spacer(Modifier.width(6.dp))
        Say(text, Size.SMALL, color)
    }
}

/** Where a signed record is. */
@Composable
fun Where(whereabouts: Whereabouts) {
    val words = words
    when (whereabouts) {
        Whereabouts.ON_PHONE -> Small(Mark.PHONE, words.ui("where.on_phone"))
        Whereabouts.AT_OFFICE -> Small(Mark.OFFICE, words.ui("where.at_office"))
        Whereabouts.IN_LOG -> Small(Mark.OFFICE, words.ui("where.in_log"))
    }
}
