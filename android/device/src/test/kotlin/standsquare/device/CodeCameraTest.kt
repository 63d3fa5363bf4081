package standsquare.device

import android.graphics.ImageFormat
import android.graphics.SurfaceTexture
import android.hardware.camera2.CameraAccessException
import android.hardware.camera2.CameraCaptureSession
import android.hardware.camera2.CameraCharacteristics
import android.hardware.camera2.CameraDevice
import android.hardware.camera2.CameraManager
import android.hardware.camera2.CaptureRequest
import android.hardware.camera2.params.StreamConfigurationMap
import android.media.Image
import android.os.Handler
import android.util.Size
import android.view.Surface
import java.nio.ByteBuffer
import org.junit.Assert.assertEquals
import org.junit.Test
import org.mockito.ArgumentMatchers.any
import org.mockito.ArgumentMatchers.anyInt
import org.mockito.ArgumentMatchers.anyList
import org.mockito.ArgumentMatchers.eq
import org.mockito.Mockito.doAnswer
import org.mockito.Mockito.doThrow
import org.mockito.Mockito.never
import org.mockito.Mockito.times
import org.mockito.Mockito.verify
import org.mockito.Mockito.`when`

/** The camera of a phone, played: what is asked of it, in what order, and that it is always let go. */
class CodeCameraTest {
    private val manager = mocked<CameraManager>()
    private val device = mocked<CameraDevice>()
    private val session = mocked<CameraCaptureSession>()
    private val pictures = mocked<CodeCamera.Pictures>()
    private val glass = mocked<Surface>()
    private val texture = mocked<SurfaceTexture>()
    private val wanted = mocked<CaptureRequest.Builder>()
    private val told = mutableListOf<Sight>()
    private val taken = mutableListOf<List<Int>>()
    private var given = true
    private var now = 0L
    private var threads = 0
    private var opened: CameraDevice.StateCallback? = null
    private var made: CameraCaptureSession.StateCallback? = null
    private var came: (() -> Unit)? = null
    private var asked: Size? = null

    private val parts = object : CodeCamera.Parts {
        override fun thread(): Pair<Handler, () -> Unit> {
            threads += 1
            return mocked<Handler>() to { threads -= 1 }
        }

        override fun pictures(size: Size) = object : CodeCamera.Pictures by pictures {
            init {
                asked = size
            }

            override fun listen(on: Handler, came: () -> Unit) {
                this@CodeCameraTest.came = came
            }
        }

        override fun surface(texture: SurfaceTexture) = glass
        override fun nowMs() = now
    }

    private val camera = CodeCamera(manager, { given }, { bytes, stride, width, height -> taken += listOf(bytes.size, stride, width, height) }, told::add, parts)

    private fun lens(facing: Int, light: Boolean = true): CameraCharacteristics = mocked<CameraCharacteristics>().also {
        val map = mocked<StreamConfigurationMap>()
        `when`(map.getOutputSizes(SurfaceTexture::class.java)).thenReturn(arrayOf(Size(4_000, 3_000), Size(1_920, 1_080), Size(1_280, 720), Size(640, 480)))
        `when`(map.getOutputSizes(ImageFormat.YUV_420_888)).thenReturn(arrayOf(Size(4_000, 3_000), Size(1_920, 1_080), Size(1_600, 720), Size(320, 240)))
        `when`(it.get(CameraCharacteristics.LENS_FACING)).thenReturn(facing)
        `when`(it.get(CameraCharacteristics.SENSOR_ORIENTATION)).thenReturn(270)
        `when`(it.get(CameraCharacteristics.FLASH_INFO_AVAILABLE)).thenReturn(light)
        `when`(it.get(CameraCharacteristics.SCALER_STREAM_CONFIGURATION_MAP)).thenReturn(map)
    }

    private fun phone(light: Boolean = true) {
        val front = lens(CameraCharacteristics.LENS_FACING_FRONT)
        val back = lens(CameraCharacteristics.LENS_FACING_BACK, light)
        `when`(manager.cameraIdList).thenReturn(arrayOf("1", "0"))
        `when`(manager.getCameraCharacteristics("1")).thenReturn(front)
        `when`(manager.getCameraCharacteristics("0")).thenReturn(back)
        doAnswer { opened = it.getArgument(1); null }.`when`(manager).openCamera(eq("0"), any(CameraDevice.StateCallback::class.java), any(Handler::class.java))
        @Suppress("DEPRECATION")
        doAnswer { made = it.getArgument(1); null }.`when`(device)
            .createCaptureSession(anyList(), any(CameraCaptureSession.StateCallback::class.java), any(Handler::class.java))
        `when`(device.createCaptureRequest(CameraDevice.TEMPLATE_PREVIEW)).thenReturn(wanted)
        `when`(wanted.build()).thenReturn(mocked<CaptureRequest>())
    }

    private fun seeing() {
        camera.open(texture)
        checkNotNull(opened).onOpened(device)
        checkNotNull(made).onConfigured(session)
    }

    private fun letGo(closed: Int = 1) {
        verify(device, times(closed)).close()
        verify(pictures).close()
        verify(glass).release()
        assertEquals(0, threads)
    }

    private fun picture(): Image = mocked<Image>().also {
        val plane = mocked<Image.Plane>()
        `when`(plane.buffer).thenReturn(ByteBuffer.allocate(128 * 72))
        `when`(plane.rowStride).thenReturn(128)
        `when`(it.planes).thenReturn(arrayOf(plane))
        `when`(it.width).thenReturn(120)
        `when`(it.height).thenReturn(72)
        `when`(pictures.latest()).thenReturn(it)
    }

    @Test
    fun theCameraOnTheBackSeesOnTheGlassAndForTheReader() {
        phone()
        seeing()
        assertEquals(listOf(Sight.STARTING, Sight.SEEING_WITH_LIGHT), told)
        assertEquals("the smallest that both can have, of 720 rows at least", Size(1_920, 1_080), asked)
        assertEquals(270, camera.turned)
        verify(texture).setDefaultBufferSize(1_920, 1_080)
        verify(wanted).addTarget(glass)
        verify(wanted).set(CaptureRequest.CONTROL_AF_MODE, CaptureRequest.CONTROL_AF_MODE_CONTINUOUS_PICTURE)
        verify(wanted).set(CaptureRequest.FLASH_MODE, CaptureRequest.FLASH_MODE_OFF)
        camera.open(texture)
        verify(manager, times(1)).openCamera(eq("0"), any(CameraDevice.StateCallback::class.java), any(Handler::class.java))
        camera.close()
        camera.close()
        letGo()
        assertEquals(2, told.size)
    }

    @Test
    fun picturesGoToTheReaderAFewASecondAndAreAlwaysGivenBack() {
        phone()
        seeing()
        val listener = checkNotNull(came)
        val all = (0..3).map {
            val one = picture()
            now += CodeCamera.EVERY_MS / 2
            listener()
            one
        }
        assertEquals(List(2) { listOf(128 * 72, 128, 120, 72) }, taken)
        camera.close()
        val late = picture()
        now += 1_000
        listener()
        assertEquals("none after the end", 2, taken.size)
        for (one in all + late) verify(one).close()
        `when`(pictures.latest()).thenThrow(IllegalStateException("closed"))
        listener()
    }

    @Test
    fun itsLightGoesOnAndOffWhereItHasOne() {
        phone()
        seeing()
        camera.light(true)
        camera.light(true)
        verify(wanted, times(1)).set(CaptureRequest.FLASH_MODE, CaptureRequest.FLASH_MODE_TORCH)
        camera.light(false)
        verify(wanted, times(2)).set(CaptureRequest.FLASH_MODE, CaptureRequest.FLASH_MODE_OFF)
        verify(session, times(3)).setRepeatingRequest(any(), any(), any())
    }

    @Test
    fun aCameraWithoutALightIsAskedForNone() {
        phone(light = false)
        camera.light(true)
        seeing()
        assertEquals(Sight.SEEING, told.last())
        verify(wanted, never()).set(CaptureRequest.FLASH_MODE, CaptureRequest.FLASH_MODE_TORCH)
    }

    @Test
    fun withoutLeaveNothingIsTouched() {
        given = false
        phone()
        camera.open(texture)
        assertEquals(listOf(Sight.DENIED), told)
        assertEquals(null, opened)
        given = true
        seeing()
        assertEquals("once it is given it begins", Sight.SEEING_WITH_LIGHT, told.last())
    }

    @Test
    fun aPhoneWithoutACameraOnItsBackSaysSo() {
        val front = lens(CameraCharacteristics.LENS_FACING_FRONT)
        `when`(manager.cameraIdList).thenReturn(arrayOf("1"))
        `when`(manager.getCameraCharacteristics("1")).thenReturn(front)
        camera.open(texture)
        assertEquals(listOf(Sight.STARTING, Sight.NONE), told)
        assertEquals(0, threads)
    }

    @Test
    fun whatTheSystemRefusesIsSaidAndLetGo() {
        val refusals = listOf(
            CameraAccessException(CameraAccessException.CAMERA_IN_USE) to Sight.TAKEN,
            CameraAccessException(CameraAccessException.CAMERA_DISABLED) to Sight.NONE,
            SecurityException("taken back") to Sight.DENIED,
            IllegalArgumentException("no such camera") to Sight.NONE,
        )
        for ((n, refusal) in refusals.withIndex()) {
            phone()
            doThrow(refusal.first).`when`(manager).openCamera(eq("0"), any(CameraDevice.StateCallback::class.java), any(Handler::class.java))
            camera.open(texture)
            assertEquals("$refusal", refusal.second, told.last())
            verify(glass, times(n + 1)).release()
            assertEquals(0, threads)
        }
    }

    @Test
    fun anotherAppThatTakesItIsSaidOnceAndItCanBeOpenedAgain() {
        phone()
        seeing()
        checkNotNull(opened).onDisconnected(device)
        assertEquals(Sight.TAKEN, told.last())
        letGo(closed = 2)
        checkNotNull(opened).onError(device, CameraDevice.StateCallback.ERROR_CAMERA_DEVICE)
        assertEquals(3, told.size)
        seeing()
        assertEquals(Sight.SEEING_WITH_LIGHT, told.last())
    }

    @Test
    fun whatFailsOnTheWayIsSaid() {
        phone()
        camera.open(texture)
        checkNotNull(opened).onOpened(device)
        checkNotNull(made).onConfigureFailed(session)
        assertEquals(Sight.TAKEN, told.last())
        for (fault in listOf(IllegalStateException("closed"), CameraAccessException(CameraAccessException.CAMERA_ERROR))) {
            doThrow(fault).`when`(session).setRepeatingRequest(any(), any(), any())
            seeing()
            assertEquals("$fault", Sight.TAKEN, told.last())
        }
        assertEquals(0, threads)
        camera.open(texture)
        checkNotNull(opened).onError(device, CameraDevice.StateCallback.ERROR_CAMERA_DISABLED)
        assertEquals(Sight.NONE, told.last())
    }

    @Test
    fun closedBeforeItWasOpenItIsLetGoWhenItComes() {
        phone()
        camera.open(texture)
        val late = checkNotNull(opened)
        camera.close()
        late.onOpened(device)
        letGo()
        @Suppress("DEPRECATION")
        verify(device, never()).createCaptureSession(anyList(), any(CameraCaptureSession.StateCallback::class.java), any(Handler::class.java))
        // And where it was opened anew meanwhile, the late one is not taken for the new one.
        camera.open(texture)
        late.onOpened(device)
        verify(device, times(2)).close()
        verify(device, never()).createCaptureRequest(anyInt())
        assertEquals(listOf(Sight.STARTING, Sight.STARTING), told)
    }

    @Test
    fun thePictureFillsItsPartOfTheGlassAndIsNotStretched() {
        val size = Size(1_280, 720)
        for ((width, height) in listOf(300 to 500, 500 to 300, 400 to 400)) for (turned in listOf(0, 90, 180, 270)) for (rotation in 0..3) {
            val (across, down, degrees) = CodeCamera.fit(width, height, size, turned, rotation)
            val where = "$width by $height, $turned, $rotation"
            // What is drawn before it is turned: the picture as the phone's usual position has it.
            val (w, h) = across * width to down * height
            val upright = turned % 180 != 0
            assertEquals("$where is not stretched", if (upright) 720f / 1_280 else 1_280f / 720, w / h, 0.001f)
            val (seenW, seenH) = if (rotation % 2 == 0) w to h else h to w
            assertEquals("$where fills, and no more than it must", 1f, minOf(seenW / width, seenH / height), 0.001f)
            assertEquals(where, listOf(0f, -90f, 180f, 90f)[rotation], degrees)
        }
    }
}
