package standsquare.preview.monkey

/** SplitMix64 (Steele, Lea, Flood, 2014): small, and the same everywhere. */
class Dice(private var state: Long) {
    /** The next 64 bits. */
    fun bits(): Long {
        state += -0x61c8864680b583ebL
        var z = state
        z = (z xor (z ushr 30)) * -0x40a7b892e31b1a47L
        z = (z xor (z ushr 27)) * -0x6b2fb644ecceee15L
        return z xor (z ushr 31)
    }

    /** A number from 0 up to, not including, [sides]. */
    fun roll(sides: Int): Int = java.lang.Long.remainderUnsigned(bits(), sides.toLong()).toInt()

    /** True once in [times]. */
    fun oneIn(times: Int): Boolean = roll(times) == 0

    /** One of [of]; null where there is none. */
    fun <T> pick(of: List<T>): T? = if (of.isEmpty()) null else of[roll(of.size)]

    /** Bytes. */
    fun bytes(count: Int) = ByteArray(count) { roll(256).toByte() }

    companion object {
        /** The dice of one act: the same for a seed whether or not a kill came before it. */
        fun of(seed: Long, act: Int) = Dice(seed * -0x3b314601e57a13adL + act * 0x1000193L).apply { bits() }
    }
}
