package standsquare.preview

import kotlin.math.cos
import kotlin.math.floor
import kotlin.math.sin
import kotlin.random.Random
import standsquare.view.QrMatrix

/** What a camera sees of another phone's glass: brightness, row by row, one byte a point. */
class Photograph(val width: Int, val height: Int, val brightness: ByteArray) {
    /** How the phone is held and what the light is like. */
    data class Held(
        /** How much of the picture's height the code takes, its light round it included. */
        val share: Float = 0.7f,
        /** Turned by degrees. */
        val degrees: Float = 0f,
        /** Points over which a point is smeared to each side. */
        val blur: Int = 0,
        /** By how much a point may be off at most, of 255. */
        val noise: Int = 0,
        /** How bright light is on the left and on the right, of 255. */
        val left: Int = 235,
        val right: Int = 235,
    )

    companion object {
        /** Light round a code, in modules: what the standard (ISO/IEC 18004) asks for. */
        private const val QUIET = 4

        /** How bright dark is, and what lies round the glass. */
        private const val DARK = 30
        private const val AROUND = 90

        /** The code as it is seen; points are looked at four times each, as a lens does, only finer. */
        fun of(code: QrMatrix, held: Held, random: Random, width: Int = 1_280, height: Int = 720): Photograph {
            val side = code.side.toInt()
            val whole = side + 2 * QUIET
            val step = height * held.share / whole
            val angle = Math.toRadians(held.degrees.toDouble())
            val (c, s) = cos(angle) to sin(angle)
            fun light(x: Double, y: Double): Int {
                val (dx, dy) = x - width / 2.0 to y - height / 2.0
                val u = floor((dx * c + dy * s) / step + whole / 2.0).toInt()
                val v = floor((dy * c - dx * s) / step + whole / 2.0).toInt()
                if (u !in 0 until whole || v !in 0 until whole) return AROUND
                val isDark = u - QUIET in 0 until side && v - QUIET in 0 until side && code.modules[(v - QUIET) * side + u - QUIET] == 1.toByte()
                return if (isDark) DARK else (held.left + (held.right - held.left) * x / width).toInt()
            }
            var points = IntArray(width * height) {
                val (x, y) = it % width to it / width
                (light(x + 0.25, y + 0.25) + light(x + 0.75, y + 0.25) + light(x + 0.25, y + 0.75) + light(x + 0.75, y + 0.75)) / 4
            }
            if (held.blur > 0) {
                points = smeared(points, width, height, held.blur, 1, 0)
                points = smeared(points, width, height, held.blur, 0, 1)
            }
            return Photograph(width, height, ByteArray(points.size) {
                val off = if (held.noise == 0) 0 else random.nextInt(-held.noise, held.noise + 1)
                (points[it] + off).coerceIn(0, 255).toByte()
            })
        }

        private fun smeared(points: IntArray, width: Int, height: Int, by: Int, across: Int, down: Int) = IntArray(points.size) {
            val (x, y) = it % width to it / width
            var sum = 0
            for (n in -by..by) {
                val (at, on) = (x + n * across).coerceIn(0, width - 1) to (y + n * down).coerceIn(0, height - 1)
                sum += points[on * width + at]
            }
            sum / (2 * by + 1)
        }
    }
}
