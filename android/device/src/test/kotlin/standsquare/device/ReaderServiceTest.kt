package standsquare.device

import android.app.Notification
import android.app.NotificationManager
import android.app.Service
import android.content.Intent
import android.content.pm.ServiceInfo
import org.junit.Assert.assertEquals
import org.junit.Test
import org.mockito.ArgumentMatchers.anyInt
import org.mockito.ArgumentMatchers.eq
import org.mockito.Mockito
import org.mockito.Mockito.`when`

/** The service that keeps the link while the glass is dark, as the framework drives it. */
class ReaderServiceTest {
    private fun started(level: Int): String {
        var held = ""
        val note = mocked<Notification>()
        val service = Mockito.mock(ReaderService::class.java, Mockito.CALLS_REAL_METHODS)
        Mockito.doReturn(level).`when`(service).level()
        Mockito.doReturn(note).`when`(service).notification(eq("Reader linked"), eq(7))
        Mockito.doReturn(mocked<NotificationManager>()).`when`(service).getSystemService(NotificationManager::class.java)
        Mockito.doAnswer { held = "plain"; null }.`when`(service).startForeground(anyInt(), Mockito.any())
        Mockito.doAnswer { held = "type ${it.arguments[2]}"; null }.`when`(service).startForeground(anyInt(), Mockito.any(), anyInt())
        val intent = mocked<Intent>()
        `when`(intent.getStringExtra(ReaderService.TITLE)).thenReturn("Reader linked")
        `when`(intent.getIntExtra(ReaderService.ICON, 0)).thenReturn(7)
        assertEquals(Service.START_REDELIVER_INTENT, service.onStartCommand(intent, 0, 1))
        return held
    }

    @Test
    fun itStandsInTheForegroundFromItsStartOn() {
        assertEquals("plain", started(28))
        assertEquals("type ${ServiceInfo.FOREGROUND_SERVICE_TYPE_CONNECTED_DEVICE}", started(29))
        assertEquals("type ${ServiceInfo.FOREGROUND_SERVICE_TYPE_CONNECTED_DEVICE}", started(34))
    }
}
