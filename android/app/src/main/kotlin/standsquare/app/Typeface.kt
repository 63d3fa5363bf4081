package standsquare.app

import android.content.Context
import androidx.compose.ui.text.font.Font
import androidx.compose.ui.text.font.FontFamily
import androidx.compose.ui.text.font.FontWeight
import java.io.File

/** The typeface that the build fetched. Android loads fonts from files, so they are put into one first. */
fun packagedTypeface(context: Context): FontFamily {
    fun font(name: String, weight: FontWeight): Font {
        val file = File(context.cacheDir, "$name.ttf")
        val data = checkNotNull(context.classLoader.getResourceAsStream("typeface/$name.ttf")) { "the app lacks $name.ttf" }
        data.use { from -> file.outputStream().use(from::copyTo) }
        return Font(file, weight)
    }
    return FontFamily(font("Regular", FontWeight.Normal), font("SemiBold", FontWeight.SemiBold), font("Bold", FontWeight.Bold))
}
