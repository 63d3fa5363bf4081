package standsquare.device

import android.content.BroadcastReceiver
import org.junit.Assert.assertEquals
import org.junit.Assert.assertNull
import org.junit.Test

/** What the system says of the battery becomes percent; it is watched once and left once. */
class BatteryWatchTest {
    @Test
    fun whatIsLeftIsPercentWhateverTheSystemCountsIn() {
        assertEquals(15, BatteryWatch.percentOf(15, 100))
        assertEquals(50, BatteryWatch.percentOf(128, 255))
        assertEquals(100, BatteryWatch.percentOf(101, 100))
        assertEquals(0, BatteryWatch.percentOf(0, 100))
        assertNull(BatteryWatch.percentOf(-1, 100))
        assertNull(BatteryWatch.percentOf(15, 0))
        assertEquals(100, BatteryWatch.percentOf(Int.MAX_VALUE, Int.MAX_VALUE))
    }

    @Test
    fun itIsWatchedOnceAndLeftOnce() {
        val watched = mutableListOf<BroadcastReceiver>()
        val left = mutableListOf<BroadcastReceiver>()
        var told = 0
        val watch = BatteryWatch({ receiver, action ->
            assertEquals("android.intent.action.BATTERY_CHANGED", action)
            watched.add(receiver)
            null
        }, left::add) { _, _ -> told += 1 }
        watch.open()
        watch.open()
        assertEquals(1, watched.size)
        assertEquals(0, told)
        watch.close()
        watch.close()
        assertEquals(watched, left)
    }
}
