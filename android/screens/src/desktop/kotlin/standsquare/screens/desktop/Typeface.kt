package standsquare.screens.desktop

import androidx.compose.ui.text.font.FontFamily
import androidx.compose.ui.text.font.FontWeight
import androidx.compose.ui.text.platform.Font

/** The typeface that the build fetched, as the desktop loads it. */
val packagedTypeface: FontFamily by lazy {
    fun font(name: String, weight: FontWeight) = Font(
        identity = name,
        data = checkNotNull(LOADER.getResourceAsStream("typeface/$name.ttf")) { "the app lacks $name.ttf" }
            .use { it.readBytes() },
        weight = weight,
    )
    FontFamily(
        font("Regular", FontWeight.Normal),
        font("SemiBold", FontWeight.SemiBold),
        font("Bold", FontWeight.Bold),
    )
}

private val LOADER = checkNotNull(Thread.currentThread().contextClassLoader)
