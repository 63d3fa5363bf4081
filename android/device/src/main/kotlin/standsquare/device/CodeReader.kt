package standsquare.device

import com.google.zxing.Binarizer
import com.google.zxing.BinaryBitmap
import com.google.zxing.DecodeHintType
import com.google.zxing.PlanarYUVLuminanceSource
import com.google.zxing.ReaderException
import com.google.zxing.common.GlobalHistogramBinarizer
import com.google.zxing.common.HybridBinarizer
import com.google.zxing.qrcode.QRCodeReader

/**
 * QR codes in a camera's pictures: each is told as often as it is seen. What it says, and that
 * it has been read already, the core knows. To be called on one thread at a time.
 */
class CodeReader(private val read: (String) -> Unit) {
    private val qr = QRCodeReader()
    private val hints = mapOf(DecodeHintType.TRY_HARDER to true)

    /**
     * A picture's brightness, row by row: [stride] bytes a row, of which [width] are the
     * picture; the last row may end with the picture. One without a code changes nothing.
     */
    fun take(brightness: ByteArray, stride: Int, width: Int, height: Int) {
        if (width <= 0 || height <= 0 || stride < width || brightness.size < (height - 1L) * stride + width) return
        val whole = if (brightness.size >= stride.toLong() * height) brightness else brightness.copyOf(stride * height)
        val seen = PlanarYUVLuminanceSource(whole, stride, height, 0, 0, width, height, false)
        val text = textIn(HybridBinarizer(seen))
            // A grainy picture, as in a dim hall, is read where its points are evened out.
            ?: textIn(HybridBinarizer(PlanarYUVLuminanceSource(evened(whole, stride, width, height), width, height, 0, 0, width, height, false)))
            ?: textIn(GlobalHistogramBinarizer(seen))
        read(text ?: return)
    }

    private fun textIn(picture: Binarizer): String? = try {
        qr.decode(BinaryBitmap(picture), hints).text
    } catch (_: ReaderException) {
        qr.reset()
        null
    }

    /** Each point as the middle of itself and the eight about it. */
    private fun evened(points: ByteArray, stride: Int, width: Int, height: Int): ByteArray {
        val out = ByteArray(width * height)
        val sums = IntArray(width)
        for (y in 0 until height) {
            val above = maxOf(y - 1, 0) * stride
            val at = y * stride
            val below = minOf(y + 1, height - 1) * stride
            for (x in 0 until width) sums[x] = (points[above + x].toInt() and 255) + (points[at + x].toInt() and 255) + (points[below + x].toInt() and 255)
            for (x in 0 until width) out[y * width + x] = ((sums[maxOf(x - 1, 0)] + sums[x] + sums[minOf(x + 1, width - 1)]) / 9).toByte()
        }
        return out
    }
}
