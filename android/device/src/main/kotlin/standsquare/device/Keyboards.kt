package standsquare.device

import android.view.InputDevice

/** Which keyboards are attached: a reader that types is one of them. The phone's own keys are none. [ids] is `InputManager.getInputDeviceIds`. */
class Keyboards(private val ids: () -> IntArray, private val device: (Int) -> InputDevice? = InputDevice::getDevice) {
    /** An attached keyboard: what stays the same of it, and its name. */
    data class Keyboard(val descriptor: String, val name: String)

    /** Those attached now. */
    fun attached(): List<Keyboard> = ids().toList().mapNotNull(device).filter {
        !it.isVirtual && it.isExternal && it.supportsSource(InputDevice.SOURCE_KEYBOARD)
    }.map { Keyboard(it.descriptor, it.name.orEmpty()) }
}
