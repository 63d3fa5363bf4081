package standsquare.device

import android.annotation.SuppressLint
import android.content.Context
import android.graphics.Matrix
import android.graphics.SurfaceTexture
import android.view.TextureView

/** The part of the glass on which the camera's picture stands: the camera is open while this is there and the app in front. */
@SuppressLint("ViewConstructor") // made by the app, from no layout
class CodeFinder(context: Context, private val camera: CodeCamera) : TextureView(context), TextureView.SurfaceTextureListener {
    private var isInFront = true

    init {
        surfaceTextureListener = this
    }

    /** The app went to the back: the camera is another's. */
    fun leave() {
        isInFront = false
        camera.close()
    }

    /** The app is in front again, or the person has answered whether it may use the camera. */
    fun look() {
        isInFront = true
        surfaceTexture?.let(::begin)
    }

    private fun begin(texture: SurfaceTexture) {
        if (isInFront) camera.open(texture)
        val (across, down, degrees) = CodeCamera.fit(width, height, camera.size, camera.turned, display?.rotation ?: 0)
        val (x, y) = width / 2f to height / 2f
        setTransform(Matrix().apply {
            setScale(across, down, x, y)
            postRotate(degrees, x, y)
        })
    }

    override fun onSurfaceTextureAvailable(texture: SurfaceTexture, width: Int, height: Int) = begin(texture)

    override fun onSurfaceTextureSizeChanged(texture: SurfaceTexture, width: Int, height: Int) = begin(texture)

    override fun onSurfaceTextureDestroyed(texture: SurfaceTexture): Boolean {
        camera.close()
        return true
    }

    override fun onSurfaceTextureUpdated(texture: SurfaceTexture) = Unit
}
