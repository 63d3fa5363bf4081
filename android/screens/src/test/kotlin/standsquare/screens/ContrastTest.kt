package standsquare.screens

import androidx.compose.ui.graphics.Color
import androidx.compose.ui.graphics.luminance
import kotlin.math.max
import kotlin.math.min
import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Test
import standsquare.screens.look.BrightSun
import standsquare.screens.look.Dark
import standsquare.screens.look.Pair7
import standsquare.screens.look.Palette

/** Contrast as WCAG 2.2 defines it: (lighter + 0.05) / (darker + 0.05) of relative luminances. */
private fun contrast(a: Color, b: Color): Double {
    val (x, y) = a.luminance().toDouble() to b.luminance().toDouble()
    return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

class ContrastTest {
    private fun eachPalette(check: (Palette) -> Unit) = listOf(BrightSun, Dark).forEach(check)

    @Test
    fun theSumIsTheStandards() {
        assertEquals(21.0, contrast(Color.Black, Color.White), 0.01)
        // WCAG 2.2, understanding 1.4.3, names #767676 on white as just above 4.5:1.
        assertEquals(4.54, contrast(Color(0xFF767676), Color.White), 0.01)
    }

    @Test
    fun everyWordHasSevenToOne() = eachPalette { p ->
        val pairs = mapOf("page" to p.page, "card" to p.card, "main" to p.main, "equal" to p.equal, "stop" to p.stop,
            "good" to p.good, "care" to p.care, "bad" to p.bad, "demo" to p.demo,
            "soft on page" to Pair7(p.page.ground, p.soft), "soft on card" to Pair7(p.card.ground, p.soft),
            "a mark on a disabled act" to p.card)
        for ((what, pair) in pairs) {
            val found = contrast(pair.ground, pair.ink)
            assertTrue("${p.name}, $what: %.2f".format(found), found >= 7.0)
        }
    }

    @Test
    fun everyEdgeAndDrawingHasThreeToOne() = eachPalette { p ->
        val edges = mapOf("line" to p.line, "hoop" to p.hoop, "dog" to p.dog, "main's edge" to if (p === BrightSun) p.main.ink else p.main.ground,
            "equal's area" to p.equal.ground, "good's edge" to p.good.ink, "care's edge" to p.care.ink, "bad's edge" to p.bad.ink,
            "stop's edge" to p.stop.ink)
        for ((what, colour) in edges) {
            val found = contrast(colour, p.page.ground)
            assertTrue("${p.name}, $what: %.2f".format(found), found >= 3.0)
        }
        // Over the dog the hoop has an edge of the card's colour.
        assertTrue("the hoop against its edge", contrast(p.hoop, p.card.ground) >= 3.0)
    }
}
