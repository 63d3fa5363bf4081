package standsquare.device

import android.content.pm.ServiceInfo
import org.junit.Assert.assertEquals
import org.junit.Test

class ReaderServiceTest {
    /** The service class itself cannot be played: only what it says it is for is tried. */
    @Test
    fun itSaysWhatItIsForWhereAndroidAsks() {
        assertEquals(null, ReaderService.type(28))
        for (level in 29..35) assertEquals(ServiceInfo.FOREGROUND_SERVICE_TYPE_CONNECTED_DEVICE, ReaderService.type(level))
    }
}
