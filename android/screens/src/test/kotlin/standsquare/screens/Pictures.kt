package standsquare.screens

import androidx.compose.ui.ImageComposeScene
import androidx.compose.ui.unit.Density
import java.io.File
import standsquare.core.Phone
import standsquare.core.readRecording
import standsquare.screens.desktop.packagedTypeface
import standsquare.screens.frame.Looks
import standsquare.screens.frame.PhoneGlass
import standsquare.state.PhoneState
import standsquare.view.View

/** The repository's root, as Maven hands it over. */
val root = File(checkNotNull(System.getProperty("standsquare.root")) { "run by Maven" })

/** Draws a state off screen and gives the PNG's bytes. */
fun picture(state: PhoneState, looks: Looks, width: Int, height: Int, density: Float, fontScale: Float = 1f): ByteArray {
    val scene = ImageComposeScene(width, height, Density(density, fontScale)) {
        PhoneGlass(state, looks, packagedTypeface, onEvent = {})
    }
    try {
        // The second frame knows how much there is to scroll.
        scene.render(0)
        return checkNotNull(scene.render(100_000_000).encodeToData()).bytes
    } finally {
        scene.close()
    }
}

/** Every view of a recorded session, by the real core, with the moment it was answered at. */
fun recordedViews(name: String): List<Pair<View, Long>> {
    val recording = readRecording(File(root, "tests/recorded/$name.json").readText())
    val dir = kotlin.io.path.createTempDirectory("recorded").toFile()
    try {
        Phone.open(dir.path, recording.deviceSecret, recording.opened).use { phone ->
            val views = mutableListOf(phone.view() to recording.opened.atMs)
            for (step in recording.steps) {
                val view = phone.apply(step.act, views.last().first.revision, step.stamp).view
                views += view to step.stamp.atMs
            }
            return views
        }
    } finally {
        dir.deleteRecursively()
    }
}
