package standsquare.screens
import java.io.File
import org.junit.Test
import standsquare.screens.frame.*
import standsquare.screens.look.*
import standsquare.state.PhoneState
class LookTest { @Test fun all() {
  val out = File("/tmp/look"); out.deleteRecursively(); out.mkdirs()
  var n = 0; var last = ""
  val scale = (System.getenv("SCALE") ?: "1").toFloat(); val look = Looks(if (System.getenv("DARK") != null) Dark else BrightSun)
  val (w, h) = (System.getenv("DIM") ?: "1080x2400").split("x").map { it.toInt() }
  for (rec in (System.getenv("RECS") ?: "three-dogs").split(",")) for ((view, at) in recordedViews(rec)) {
    val k = "${view.title.key}-${view.notice?.text?.key}-${view.screen.hashCode()}"
    if (k == last) continue; last = k
    val bytes = picture(PhoneState.Showing(view, at), look, w, h, 3f, scale)
    File(out, "%02d-%s.png".format(n++, view.title.key.removePrefix("title."))).writeBytes(bytes)
  } } }
