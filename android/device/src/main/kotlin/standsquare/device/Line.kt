package standsquare.device

/** What a carrier tells: the link's comings and goings, and bytes as they came. */
interface Line {
    /** The link stands. [name] is what the other side calls itself; empty if it does not say. */
    fun connected(name: String)

    /** Bytes, cut wherever the radio cut them. */
    fun bytes(bytes: ByteArray)

    /** The link is gone; it is looked for again only when [BleCarrier.connect] is called. */
    fun lost(reason: String)
}
