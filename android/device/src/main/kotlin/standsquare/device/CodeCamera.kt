package standsquare.device

import android.annotation.SuppressLint
import android.content.Context
import android.graphics.ImageFormat
import android.graphics.SurfaceTexture
import android.hardware.camera2.CameraAccessException
import android.hardware.camera2.CameraCaptureSession
import android.hardware.camera2.CameraCharacteristics
import android.hardware.camera2.CameraDevice
import android.hardware.camera2.CameraManager
import android.hardware.camera2.CaptureRequest
import android.media.Image
import android.media.ImageReader
import android.os.Handler
import android.os.HandlerThread
import android.os.SystemClock
import android.util.Size
import android.view.Surface

/** How the camera stands: the names are those of the screens. */
enum class Sight { STARTING, SEEING, SEEING_WITH_LIGHT, DENIED, NONE, TAKEN }

/**
 * The camera on the phone's back, while a code is to be read: its picture on a texture of the
 * glass, and the same picture's brightness for [take]. What it cannot do it says ([told], on
 * any thread), and nothing else happens.
 *
 * @param given whether the person lets the app use it.
 * @param take a picture's brightness: bytes, bytes a row, width and height.
 */
class CodeCamera(
    private val manager: CameraManager,
    private val given: () -> Boolean,
    private val take: (ByteArray, Int, Int, Int) -> Unit,
    private val told: (Sight) -> Unit,
    private val parts: Parts = Framework,
) : AutoCloseable {
    /** What only a phone can make; tests play it. */
    interface Parts {
        /** A thread of its own; the second ends it. */
        fun thread(): Pair<Handler, () -> Unit>

        /** Where pictures of this size come in. */
        fun pictures(size: Size): Pictures

        /** The glass. */
        fun surface(texture: SurfaceTexture): Surface

        /** A clock that only goes forward, milliseconds. */
        fun nowMs(): Long
    }

    /** Pictures as they come in. */
    interface Pictures : AutoCloseable {
        /** Where the camera puts them. */
        val surface: Surface

        /** Calls on this thread whenever there is a new one. */
        fun listen(on: Handler, came: () -> Unit)

        /** The newest, if there is one; to be closed. */
        fun latest(): Image?
    }

    /** On this phone. */
    constructor(context: Context, reader: CodeReader, told: (Sight) -> Unit) : this(
        context.getSystemService(CameraManager::class.java), { Permissions.maySee(context) }, reader::take, told,
    )

    /** Size of a picture as the camera gives it; what stands on the glass is turned by [turned] degrees. */
    var size = Size(WIDTH, HEIGHT)
        private set

    /** Degrees by which the camera's picture lies turned in the phone's usual position. */
    var turned = 90
        private set

    private var looking: Looking? = null
    private var light = false

    /** Begins, with its picture on this texture, unless it has begun. */
    @Synchronized
    fun open(texture: SurfaceTexture) {
        if (looking != null) return
        if (!given()) return told(Sight.DENIED)
        told(Sight.STARTING)
        try {
            val id = back() ?: return told(Sight.NONE)
            val sees = manager.getCameraCharacteristics(id)
            turned = sees.get(CameraCharacteristics.SENSOR_ORIENTATION) ?: turned
            size = sizeOf(sees)
            val now = Looking(sees.get(CameraCharacteristics.FLASH_INFO_AVAILABLE) == true, texture)
            looking = now
            now.begin(id)
        } catch (fault: CameraAccessException) {
            end(sightOf(fault.reason))
        } catch (_: SecurityException) {
            end(Sight.DENIED)
        } catch (_: IllegalArgumentException) {
            end(Sight.NONE) // what is told of a camera that was there a moment ago
        }
    }

    /** Turns its light on or off, where it has one. */
    @Synchronized
    fun light(on: Boolean) {
        if (light == on) return
        light = on
        looking?.ask()
    }

    /** Lets the camera go. */
    @Synchronized
    override fun close() = end(null)

    @Synchronized
    private fun end(sight: Sight?) {
        looking?.end()
        looking = null
        sight?.let(told)
    }

    private fun back(): String? {
        val all = manager.cameraIdList.associateWith { manager.getCameraCharacteristics(it).get(CameraCharacteristics.LENS_FACING) }
        return all.entries.firstOrNull { it.value == CameraCharacteristics.LENS_FACING_BACK }?.key
    }

    /** The smallest that both the glass and the reader can have and that is sharp enough. */
    private fun sizeOf(sees: CameraCharacteristics): Size {
        val map = sees.get(CameraCharacteristics.SCALER_STREAM_CONFIGURATION_MAP) ?: return size
        val shown = map.getOutputSizes(SurfaceTexture::class.java)?.toSet().orEmpty()
        val both = map.getOutputSizes(ImageFormat.YUV_420_888)?.filter { it in shown }.orEmpty().sortedBy { it.width * it.height }
        return both.firstOrNull { it.height >= HEIGHT } ?: both.lastOrNull() ?: size
    }

    /** From one opening to its end. All that the system calls back is on its own thread. */
    private inner class Looking(private val hasLight: Boolean, texture: SurfaceTexture) {
        private val thread = parts.thread()
        private val pictures = parts.pictures(size)
        private val glass = texture.run {
            setDefaultBufferSize(size.width, size.height)
            parts.surface(this)
        }
        private var device: CameraDevice? = null
        private var session: CameraCaptureSession? = null
        private var bytes = ByteArray(0)
        private var lastMs = Long.MIN_VALUE
        private val isOver get() = looking !== this

        // Whoever opens it has looked for the permission; where it went meanwhile the system says so.
        @SuppressLint("MissingPermission")
        fun begin(id: String) {
            pictures.listen(thread.first, ::see)
            manager.openCamera(id, object : CameraDevice.StateCallback() {
                override fun onOpened(camera: CameraDevice) = opened(camera)

                override fun onDisconnected(camera: CameraDevice) = lost(camera, Sight.TAKEN)

                override fun onError(camera: CameraDevice, error: Int) =
                    lost(camera, if (error == ERROR_CAMERA_DISABLED) Sight.NONE else Sight.TAKEN)
            }, thread.first)
        }

        private fun opened(camera: CameraDevice) {
            synchronized(this@CodeCamera) {
                // It was closed before it was open.
                if (isOver) return camera.close()
                device = camera
                trying { show(camera) }
            }
        }

        private fun lost(camera: CameraDevice, sight: Sight) {
            synchronized(this@CodeCamera) {
                camera.close()
                if (!isOver) end(sight)
            }
        }

        // The other way of asking is of Android 9; this app runs on 8.
        @Suppress("DEPRECATION")
        private fun show(camera: CameraDevice) =
            camera.createCaptureSession(listOf(glass, pictures.surface), object : CameraCaptureSession.StateCallback() {
                override fun onConfigured(made: CameraCaptureSession) {
                    synchronized(this@CodeCamera) {
                        if (isOver) return
                        session = made
                        ask()
                        if (!isOver) told(if (hasLight) Sight.SEEING_WITH_LIGHT else Sight.SEEING)
                    }
                }

                override fun onConfigureFailed(made: CameraCaptureSession) = lost(camera, Sight.TAKEN)
            }, thread.first)

        /** Pictures from now on, with light or without. */
        fun ask() {
            val camera = device ?: return
            val made = session ?: return
            trying {
                val wanted = camera.createCaptureRequest(CameraDevice.TEMPLATE_PREVIEW)
                wanted.addTarget(glass)
                wanted.addTarget(pictures.surface)
                wanted.set(CaptureRequest.CONTROL_AF_MODE, CaptureRequest.CONTROL_AF_MODE_CONTINUOUS_PICTURE)
                wanted.set(CaptureRequest.FLASH_MODE, if (light && hasLight) CaptureRequest.FLASH_MODE_TORCH else CaptureRequest.FLASH_MODE_OFF)
                made.setRepeatingRequest(wanted.build(), null, thread.first)
            }
        }

        private fun trying(what: () -> Unit) = try {
            what()
        } catch (fault: CameraAccessException) {
            end(sightOf(fault.reason))
        } catch (_: IllegalStateException) {
            end(Sight.TAKEN) // closed by the system, which says so in its own time
        } catch (_: IllegalArgumentException) {
            end(Sight.TAKEN) // the glass went meanwhile
        }

        private fun see() {
            // Read outside of the lock: closing waits for no picture.
            val image = try {
                pictures.latest()
            } catch (_: IllegalStateException) {
                null // closed
            } ?: return
            image.use {
                val now = parts.nowMs()
                if (lastMs != Long.MIN_VALUE && now - lastMs < EVERY_MS) return
                lastMs = now
                if (!isOver) read(it)
            }
        }

        private fun read(image: Image) {
            val plane = image.planes[0]
            val buffer = plane.buffer
            if (bytes.size != buffer.remaining()) bytes = ByteArray(buffer.remaining())
            buffer.get(bytes)
            take(bytes, plane.rowStride, image.width, image.height)
        }

        fun end() {
            device?.close()
            pictures.close()
            glass.release()
            thread.second()
        }
    }

    private object Framework : Parts {
        override fun thread(): Pair<Handler, () -> Unit> {
            val made = HandlerThread("codes").apply { start() }
            return Handler(made.looper) to { made.quitSafely() }
        }

        override fun pictures(size: Size) = object : Pictures {
            private val reader = ImageReader.newInstance(size.width, size.height, ImageFormat.YUV_420_888, 2)

            override val surface: Surface get() = reader.surface

            override fun listen(on: Handler, came: () -> Unit) = reader.setOnImageAvailableListener({ came() }, on)

            override fun latest(): Image? = reader.acquireLatestImage()

            override fun close() = reader.close()
        }

        override fun surface(texture: SurfaceTexture) = Surface(texture)

        override fun nowMs() = SystemClock.elapsedRealtime()
    }

    companion object {
        // A code of version 15, the largest that is shown, has 77 modules a side: held over half
        // of such a picture's height it has more than four points a module. Own choice, no source.
        private const val WIDTH = 1_280
        private const val HEIGHT = 720

        /** A picture is looked into at most so often, milliseconds. Own choice: a code is shown for 800. */
        const val EVERY_MS = 80L

        private fun sightOf(reason: Int) = if (reason == CameraAccessException.CAMERA_DISABLED) Sight.NONE else Sight.TAKEN

        /**
         * How a picture of [size], which the system shows in the phone's usual position stretched
         * over the whole of a part of the glass, must be drawn so that it fills that part without
         * being stretched: across, down, and turned by degrees. [rotation] is the glass's, in quarters.
         */
        fun fit(width: Int, height: Int, size: Size, turned: Int, rotation: Int): Triple<Float, Float, Float> {
            val upright = turned % 180 != 0
            val across = if (upright) size.height else size.width
            val down = if (upright) size.width else size.height
            val scale = if (rotation % 2 == 0) maxOf(width / across.toFloat(), height / down.toFloat())
            else maxOf(width / down.toFloat(), height / across.toFloat())
            val degrees = if (rotation % 2 == 0) rotation * 90f else (rotation - 2) * 90f
            return Triple(across * scale / width, down * scale / height, degrees)
        }
    }
}
