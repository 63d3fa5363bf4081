package standsquare.device

import android.app.Notification
import android.app.NotificationChannel
import android.app.NotificationManager
import android.app.Service
import android.content.Context
import android.content.Intent
import android.content.pm.ServiceInfo
import android.os.Build
import android.os.IBinder

/**
 * Keeps the app's process, and with it the reader's link, while the phone's glass is
 * dark: a measurer lays it down between dogs. It does nothing else. Its words and
 * icon come from whoever starts it.
 */
class ReaderService : Service() {
    override fun onBind(intent: Intent?): IBinder? = null

    override fun onStartCommand(intent: Intent?, flags: Int, startId: Int): Int {
        val title = intent?.getStringExtra(TITLE).orEmpty()
        val manager = getSystemService(NotificationManager::class.java)
        manager.createNotificationChannel(NotificationChannel(CHANNEL, title, NotificationManager.IMPORTANCE_LOW))
        hold(notification(title, intent?.getIntExtra(ICON, 0) ?: 0))
        // Killed for want of memory, it comes back with the same words.
        return START_REDELIVER_INTENT
    }

    /** The notification that has to stand while it runs. */
    private fun notification(title: String, icon: Int): Notification =
        Notification.Builder(this, CHANNEL).setContentTitle(title).setSmallIcon(icon).setOngoing(true).build()

    private fun hold(note: Notification) {
        val type = type(Build.VERSION.SDK_INT)
        if (type == null) startForeground(ID, note) else startForeground(ID, note, type)
    }

    companion object {
        const val TITLE = "title"
        const val ICON = "icon"
        const val CHANNEL = "reader"
        const val ID = 1

        /** What the service says it is for; null where Android does not ask yet (before 10). */
        fun type(level: Int): Int? =
            if (level >= Build.VERSION_CODES.Q) ServiceInfo.FOREGROUND_SERVICE_TYPE_CONNECTED_DEVICE else null

        /** What starts it. */
        fun intent(context: Context, title: String, icon: Int): Intent =
            Intent(context, ReaderService::class.java).putExtra(TITLE, title).putExtra(ICON, icon)
    }
}
