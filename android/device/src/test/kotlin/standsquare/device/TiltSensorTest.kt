package standsquare.device

import kotlin.math.cos
import kotlin.math.sin
import org.junit.Assert.assertEquals
import org.junit.Test

class TiltSensorTest {
    @Test
    fun gravityStraightDownIsLevel() = assertEquals(0 to 0, TiltSensor.mdegOf(0f, 0f, 9.81f))

    @Test
    fun aDegreeAboutEitherSideIsAThousand() {
        val (s, c) = sin(Math.toRadians(1.0)).toFloat() to cos(Math.toRadians(1.0)).toFloat()
        assertEquals(1000 to 0, TiltSensor.mdegOf(0f, s, c))
        assertEquals(0 to -1000, TiltSensor.mdegOf(-s, 0f, c))
    }
}
