package standsquare.preview

import kotlinx.coroutines.flow.MutableStateFlow
import standsquare.view.Act

/** The key store of a phone on a desk, and the finger that is put on it: it keeps one secret while the window is open. */
class Finger(private val send: (Act) -> Unit) {
    /** Whose it is. */
    enum class Whose {
        /** The owner's. */
        OWNERS,

        /** Nobody's that the phone knows: the dialogue is left. */
        UNKNOWN,
    }

    /** Whose finger is put on it when the phone asks. */
    val whose = MutableStateFlow(Whose.OWNERS)

    @Volatile private var kept: ByteArray? = null

    /** Another finger is enrolled: the system throws away what was kept. */
    fun enrolAnother() {
        kept = null
    }

    /** What the phone's own dialogue does. */
    fun asked(keep: ByteArray) {
        if (whose.value == Whose.UNKNOWN) return
        if (keep.isNotEmpty()) kept = keep
        send(kept?.let(Act::OwnerUnlock) ?: Act.OwnerGone)
    }
}
