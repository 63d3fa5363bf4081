package standsquare.device

import android.content.Context
import android.media.AudioManager
import android.media.ToneGenerator
import android.os.VibrationEffect
import android.os.Vibrator

/** Short sounds and buzzes that can be told apart without looking: by pitch and by number. */
class Cues(context: Context) : AutoCloseable {
    /** What is told; each has its own tone and its own beat. */
    enum class Cue(internal val tone: Int, internal val beat: LongArray) {
        MATCHES(ToneGenerator.TONE_PROP_ACK, longArrayOf(0, 60)),
        DIFFERS(ToneGenerator.TONE_SUP_ERROR, longArrayOf(0, 250, 120, 250)),
        REFUSED(ToneGenerator.TONE_PROP_NACK, longArrayOf(0, 90, 70, 90, 70, 90)),
        DONE(ToneGenerator.TONE_PROP_BEEP, longArrayOf(0, 30)),
    }

    @Suppress("DEPRECATION") // what replaces it is newer than our lowest API level
    private val vibrator = context.getSystemService(Context.VIBRATOR_SERVICE) as Vibrator?

    // A phone may have no free sound track: then it buzzes only.
    private val tones = runCatching { ToneGenerator(AudioManager.STREAM_NOTIFICATION, LOUDNESS) }.getOrNull()

    /** Tells [cue] by sound, if it is to be heard, and by a buzz, if it is to be felt. */
    fun tell(cue: Cue, heard: Boolean, felt: Boolean) {
        if (heard) tones?.startTone(cue.tone, LASTS_MS)
        if (felt && vibrator?.hasVibrator() == true) vibrator.vibrate(VibrationEffect.createWaveform(cue.beat, ONCE))
    }

    override fun close() = tones?.release() ?: Unit

    private companion object {
        /** Percent of the phone's own loudness. Own choice: a hall is noisy. */
        const val LOUDNESS = 100

        /** The longest of the tones, ms. */
        const val LASTS_MS = 400

        const val ONCE = -1
    }
}
