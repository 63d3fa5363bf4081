package standsquare.device

import android.content.BroadcastReceiver
import android.content.Context
import android.content.Intent
import android.content.IntentFilter
import android.os.BatteryManager

/**
 * Tells what is left in the phone's battery, whenever the system says that it changed. What is
 * little, the core says.
 *
 * [watch] and [leave] are the system's; tests give their own. The first answer is the last one
 * that the system gave, if it gave any.
 */
class BatteryWatch(
    private val watch: (BroadcastReceiver, String) -> Intent?,
    private val leave: (BroadcastReceiver) -> Unit,
    private val told: (percent: Int, charging: Boolean) -> Unit,
) : AutoCloseable {
    /** On this phone. */
    constructor(context: Context, told: (percent: Int, charging: Boolean) -> Unit) : this(
        { receiver, action -> context.registerReceiver(receiver, IntentFilter(action)) },
        context::unregisterReceiver,
        told,
    )

    private val receiver = object : BroadcastReceiver() {
        override fun onReceive(context: Context?, intent: Intent?) = tell(intent)
    }
    private var open = false

    /** Watches from now on. */
    fun open() {
        if (open) return
        open = true
        tell(watch(receiver, Intent.ACTION_BATTERY_CHANGED))
    }

    override fun close() {
        if (!open) return
        open = false
        leave(receiver)
    }

    private fun tell(intent: Intent?) {
        if (intent == null) return
        val percent = percentOf(intent.getIntExtra(BatteryManager.EXTRA_LEVEL, -1), intent.getIntExtra(BatteryManager.EXTRA_SCALE, -1)) ?: return
        // 0: on its battery.
        told(percent, intent.getIntExtra(BatteryManager.EXTRA_PLUGGED, 0) != 0)
    }

    companion object {
        /** Percent of what the system counts in; nothing where it does not know. */
        fun percentOf(level: Int, scale: Int): Int? =
            if (scale <= 0 || level < 0) null else (level.toLong() * 100 / scale).coerceAtMost(100).toInt()
    }
}
