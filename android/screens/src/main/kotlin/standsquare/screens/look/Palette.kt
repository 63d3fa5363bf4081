package standsquare.screens.look

import androidx.compose.runtime.Composable
import androidx.compose.runtime.staticCompositionLocalOf
import androidx.compose.ui.graphics.Color

/** A colour with what is written on it. The tests hold each pair to 7:1 (WCAG 2.2, 1.4.6). */
data class Pair7(val ground: Color, val ink: Color)

/**
 * The colours of one theme. They come from the ring: the yellow of the contact
 * zones for the one main act, the ring's turf for a green that says "as hoped".
 * Nothing is said by colour alone; every tone has a mark and words as well.
 */
data class Palette(
    val name: String,
    /** The screen. */
    val page: Pair7,
    /** A card on it. */
    val card: Pair7,
    /** Second-rank words on page or card. */
    val soft: Color,
    /** Lines and borders; 3:1 against page and card (WCAG 2.2, 1.4.11). */
    val line: Color,
    /** The main act. */
    val main: Pair7,
    /** Two acts that are equally likely. */
    val equal: Pair7,
    /** Ends the dog for today. */
    val stop: Pair7,
    /** As hoped. */
    val good: Pair7,
    /** Look at this. */
    val care: Pair7,
    /** This does not go on. */
    val bad: Pair7,
    /** The demo's mark. */
    val demo: Pair7,
    /** The hoop in drawings. */
    val hoop: Color,
    /** The dog in drawings. */
    val dog: Color,
)

/** For full sun: as much light and as hard an edge as the glass can give. */
val BrightSun = Palette(
    name = "sun",
    page = Pair7(Color(0xFFFFFFFF), Color(0xFF0A1410)),
    card = Pair7(Color(0xFFF1F4EE), Color(0xFF0A1410)),
    soft = Color(0xFF303B35),
    line = Color(0xFF46524B),
    main = Pair7(Color(0xFFFFC61A), Color(0xFF0A1410)),
    equal = Pair7(Color(0xFF0B3A4D), Color(0xFFFFFFFF)),
    stop = Pair7(Color(0xFFFFFFFF), Color(0xFF7A0C10)),
    good = Pair7(Color(0xFFD6F0D2), Color(0xFF08351A)),
    care = Pair7(Color(0xFFFFE9AE), Color(0xFF3B2600)),
    bad = Pair7(Color(0xFFFBD9D6), Color(0xFF5C0509)),
    demo = Pair7(Color(0xFF0A1410), Color(0xFFFFD34D)),
    hoop = Color(0xFFB4540A),
    dog = Color(0xFF34423B),
)

/** For halls and evenings: dim, so that the eyes stay used to the dark. */
val Dark = Palette(
    name = "dark",
    page = Pair7(Color(0xFF0B100E), Color(0xFFF3F6F1)),
    card = Pair7(Color(0xFF18211D), Color(0xFFF3F6F1)),
    soft = Color(0xFFC9D2CC),
    line = Color(0xFF8B9A92),
    main = Pair7(Color(0xFFFFC61A), Color(0xFF0A1410)),
    equal = Pair7(Color(0xFFBDE6F5), Color(0xFF06222E)),
    stop = Pair7(Color(0xFF0B100E), Color(0xFFFFB3AD)),
    good = Pair7(Color(0xFF0C3B1E), Color(0xFFD5F5D6)),
    care = Pair7(Color(0xFF4A3400), Color(0xFFFFEBB8)),
    bad = Pair7(Color(0xFF560B10), Color(0xFFFFE1DE)),
    demo = Pair7(Color(0xFFFFD34D), Color(0xFF0A1410)),
    hoop = Color(0xFFFFA04A),
    dog = Color(0xFFB9C6BE),
)

/** The theme in use. */
val LocalPalette = staticCompositionLocalOf { BrightSun }

/** The theme in use. */
val palette: Palette @Composable get() = LocalPalette.current
