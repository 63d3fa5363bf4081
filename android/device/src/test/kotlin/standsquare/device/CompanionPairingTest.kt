package standsquare.device

import android.bluetooth.BluetoothDevice
import android.companion.AssociationInfo
import android.companion.CompanionDeviceManager
import android.content.Intent
import android.content.IntentSender
import android.net.MacAddress
import org.junit.Assert.assertEquals
import org.junit.Test
import org.mockito.Mockito.`when`

/** The system's own list, mocked: who is told what. */
class CompanionPairingTest {
    private val told = mutableListOf<String>()

    private fun pairing(level: Int) = CompanionPairing(
        mocked(), Ids.UART, { told += "show" }, { address, name, way -> told += "$way $address $name" }, { told += "failed: $it" }, level,
    )

    private fun picked(type: Int): Intent {
        val device = mocked<BluetoothDevice>()
        `when`(device.address).thenReturn("C0:11:22:33:44:55")
        `when`(device.name).thenReturn("Wand")
        `when`(device.type).thenReturn(type)
        val intent = mocked<Intent>()
        @Suppress("DEPRECATION")
        `when`(intent.getParcelableExtra<android.os.Parcelable>(CompanionDeviceManager.EXTRA_DEVICE)).thenReturn(device)
        return intent
    }

    @Test
    @Suppress("DEPRECATION")
    fun upToAndroid12TheListsResultTells() {
        val pairing = pairing(31)
        pairing.onDeviceFound(mocked<IntentSender>())
        pairing.result(picked(BluetoothDevice.DEVICE_TYPE_LE))
        pairing.result(picked(BluetoothDevice.DEVICE_TYPE_CLASSIC))
        pairing.result(null)
        assertEquals(listOf("show", "BLE C0:11:22:33:44:55 Wand", "SERIAL C0:11:22:33:44:55 Wand"), told)
    }

    @Test
    fun fromAndroid13OnTheAssociationTellsOnce() {
        val pairing = pairing(33)
        pairing.onAssociationPending(mocked<IntentSender>())
        val info = mocked<AssociationInfo>()
        val address = mocked<MacAddress>()
        `when`(address.toString()).thenReturn("c0:11:22:33:44:55")
        `when`(info.deviceMacAddress).thenReturn(address)
        `when`(info.displayName).thenReturn("Wand")
        pairing.onAssociationCreated(info)
        pairing.result(picked(BluetoothDevice.DEVICE_TYPE_LE))
        assertEquals(listOf("show", "BLE C0:11:22:33:44:55 Wand"), told)
    }

    @Test
    fun whoPicksNothingIsToldWhy() {
        pairing(33).onFailure("user_rejected")
        assertEquals(listOf("failed: user_rejected"), told)
    }
}
