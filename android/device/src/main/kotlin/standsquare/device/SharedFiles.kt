package standsquare.device

import android.content.ContentProvider
import android.content.ContentValues
import android.content.Context
import android.content.Intent
import android.database.Cursor
import android.database.MatrixCursor
import android.net.Uri
import android.os.ParcelFileDescriptor
import android.provider.OpenableColumns
import java.io.File
import java.io.FileNotFoundException

/**
 * The files that were offered to the share sheet, and no others: whoever the person chose may
 * read the one that was granted. The manifest keeps it closed to everybody else.
 */
class SharedFiles : ContentProvider() {
    override fun onCreate() = true

    override fun getType(uri: Uri): String = typeOf(nameIn(uri))

    override fun openFile(uri: Uri, mode: String): ParcelFileDescriptor {
        if (mode != "r") throw FileNotFoundException("only to be read")
        val context = context ?: throw FileNotFoundException("not yet")
        return ParcelFileDescriptor.open(file(context, nameIn(uri)), ParcelFileDescriptor.MODE_READ_ONLY)
    }

    override fun query(uri: Uri, columns: Array<String>?, where: String?, with: Array<String>?, order: String?): Cursor? {
        val file = file(context ?: return null, nameIn(uri))
        return MatrixCursor(arrayOf(OpenableColumns.DISPLAY_NAME, OpenableColumns.SIZE)).apply {
            addRow(arrayOf<Any>(file.name, file.length()))
        }
    }

    override fun insert(uri: Uri, values: ContentValues?): Uri? = null
    override fun delete(uri: Uri, where: String?, with: Array<String>?) = 0
    override fun update(uri: Uri, values: ContentValues?, where: String?, with: Array<String>?) = 0

    companion object {
        /** Keeps the file where only this app can reach it, and gives what opens the share sheet with it. */
        fun offer(context: Context, authority: String, name: String, bytes: ByteArray): Intent {
            val file = file(context, name)
            file.parentFile?.mkdirs()
            file.writeBytes(bytes)
            val uri = Uri.Builder().scheme("content").authority(authority).appendPath(file.name).build()
            val send = Intent(Intent.ACTION_SEND).setType(typeOf(file.name)).putExtra(Intent.EXTRA_STREAM, uri)
                .addFlags(Intent.FLAG_GRANT_READ_URI_PERMISSION)
            return Intent.createChooser(send, null)
        }

        private fun nameIn(uri: Uri) = uri.lastPathSegment.orEmpty()

        /** Only a file of the one folder: a name is cut down to its last part. */
        private fun file(context: Context, name: String) = File(File(context.cacheDir, "shared"), File(name).name)

        internal fun typeOf(name: String) = when (name.substringAfterLast('.', "")) {
            "pdf" -> "application/pdf"
            "csv" -> "text/csv"
            "ics" -> "text/calendar"
            else -> "application/octet-stream"
        }
    }
}
