package standsquare.device

import java.util.UUID

/**
 * A serial line over Bluetooth Low Energy: one service, one characteristic that
 * notifies. Which pair a reader has is data that comes with its pairing.
 */
data class SerialService(val service: UUID, val notifies: UUID) {
    companion object {
        /** The descriptor that switches notifications on (Bluetooth Core Specification, vol 3 part G, 3.3.3.3). */
        val CLIENT_CONFIGURATION: UUID = UUID.fromString("00002902-0000-1000-8000-00805f9b34fb")
    }
}
