package standsquare.device

/** What a carrier tells: the link's comings and goings, and bytes as they came. */
interface Line {
    /** The link stands and bytes can come. [name] is what the other side calls itself; empty if it does not say. */
    fun connected(name: String)

    /** Bytes, cut wherever the radio cut them. */
    fun bytes(bytes: ByteArray)

    /** What is left in the other side's battery, percent. */
    fun battery(percent: Int)

    /** The link is gone; the carrier goes on looking for it until it is closed. */
    fun lost(reason: String)
}
