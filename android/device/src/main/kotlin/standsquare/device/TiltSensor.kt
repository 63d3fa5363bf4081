package standsquare.device

import android.content.Context
import android.hardware.Sensor
import android.hardware.SensorEvent
import android.hardware.SensorEventListener
import android.hardware.SensorManager
import kotlin.math.atan2
import kotlin.math.hypot
import kotlin.math.roundToInt

/** The phone as a level: which way gravity pulls while it lies there. What is level enough, the core says. */
class TiltSensor(context: Context) : SensorEventListener, AutoCloseable {
    private val manager = context.getSystemService(Context.SENSOR_SERVICE) as SensorManager
    @Volatile private var latest = 0 to 0

    /** About the short side and about the long side, thousandths of a degree. */
    val mdeg: Pair<Int, Int> get() = latest

    /** Whether this phone has the sensor at all. */
    val there: Boolean get() = sensor != null

    private val sensor: Sensor? = manager.getDefaultSensor(Sensor.TYPE_GRAVITY)
        ?: manager.getDefaultSensor(Sensor.TYPE_ACCELEROMETER)

    /** Begins to listen. */
    fun open() {
        sensor?.let { manager.registerListener(this, it, SensorManager.SENSOR_DELAY_UI) }
    }

    override fun close() = manager.unregisterListener(this)

    override fun onSensorChanged(event: SensorEvent) {
        val (x, y, z) = event.values
        latest = mdegOf(x, y, z)
    }

    override fun onAccuracyChanged(sensor: Sensor, accuracy: Int) = Unit

    companion object {
        /** Angles of a phone lying screen up, from gravity along its axes, any unit. */
        fun mdegOf(x: Float, y: Float, z: Float): Pair<Int, Int> {
            fun mdeg(part: Float, rest: Float) = Math.toDegrees(atan2(part.toDouble(), rest.toDouble())).times(1000).roundToInt()
            return mdeg(y, hypot(x, z)) to mdeg(x, hypot(y, z))
        }
    }
}
