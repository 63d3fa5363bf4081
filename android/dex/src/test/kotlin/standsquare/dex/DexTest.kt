package standsquare.dex

import com.android.tools.r8.CompilationFailedException
import com.android.tools.r8.D8
import com.android.tools.r8.D8Command
import com.android.tools.r8.Diagnostic
import com.android.tools.r8.DiagnosticsHandler
import com.android.tools.r8.JdkClassFileProvider
import com.android.tools.r8.OutputMode
import com.android.tools.r8.R8
import com.android.tools.r8.R8Command
import com.android.tools.r8.origin.Origin
import java.io.File
import java.net.URLClassLoader
import kotlin.io.path.createTempDirectory
import org.junit.After
import org.junit.Assert.assertEquals
import org.junit.Assert.assertThrows
import org.junit.Assert.assertTrue
import org.junit.Test

/** What can be made of the app's package without Google's registry. */
class DexTest {
    private val dir = createTempDirectory("dex").toFile()

    private companion object {
        val KOTLIN = listOf("kotlin-stdlib", "kotlinx-coroutines-core-jvm")
    }

    @After
    fun tidy() {
        dir.deleteRecursively()
    }

    private val warnings = mutableListOf<String>()
    private val handler = object : DiagnosticsHandler {
        override fun warning(warning: Diagnostic) {
            warnings += warning.diagnosticMessage
        }
    }

    /** Every class of ours for the oldest phone that the app says it runs on. */
    @Test
    fun ourClassesBecomeDexAtTheLowestApiLevel() {
        val command = D8Command.builder(handler).setMinApiLevel(minSdk).setOutput(dir.toPath(), OutputMode.DexIndexed)
            .addLibraryFiles(framework.toPath()).addClasspathFiles((compose + brought - zxing).map(File::toPath))
        var count = 0
        for (part in ours) for ((name, bytes) in classesOf(part)) {
            if (name.startsWith("standsquare/screens/desktop/")) continue
            command.addClassProgramData(bytes, Origin.unknown())
            count += 1
        }
        // What reads codes is no library of Android's: it has to become dex as well.
        val ofOthers = classesOf(zxing).onEach { (_, bytes) -> command.addClassProgramData(bytes, Origin.unknown()) }.size
        D8.run(command.build())
        assertTrue("our classes were found: $count", count > 400)
        val dex = checkNotNull(dir.listFiles { file -> file.extension == "dex" })
        assertTrue("there is a classes.dex", dex.any { it.name == "classes.dex" })
        // Dalvik executable format: 'dex\n', three digits, 0.
        for (file in dex) assertEquals("dex\n", file.readBytes().decodeToString(0, 4))
        val ofOurs = warnings.filter { "standsquare" in it || "zxing" in it }
        assertEquals("warnings about our classes", emptyList<String>(), ofOurs)
        println("D8 at API $minSdk: $count of our classes and $ofOthers of ZXing, ${dex.size} files, ${dex.sumOf(File::length)} bytes, ${warnings.size} warnings")
    }

    private fun shrunk(rules: List<String>): File {
        val jar = File(dir, "shrunk.jar")
        val command = R8Command.builder(handler).setOutput(jar.toPath(), OutputMode.ClassFile)
            .addLibraryResourceProvider(JdkClassFileProvider.fromSystemJdk())
            // Kotlin's own library is left whole: shrinking it too takes R8 ten times as long and says nothing of our rules.
            .addLibraryFiles(KOTLIN.map { jar(it).toPath() }).addProgramFiles(jar("jna").toPath())
            .addProguardConfiguration(rules, Origin.unknown())
        for (part in ours.take(2)) for ((_, bytes) in classesOf(part)) command.addClassProgramData(bytes, Origin.unknown())
        R8.run(command.build())
        return jar
    }

    private val keep = File(root, "android/app/keep.pro").readLines()

    /** What the app's Activity calls and R8 sees there. */
    private val entry = listOf("-keep class standsquare.gateway.Gateway { *; }", "-ignorewarnings")

    /** Opens a record through the shrunk classes and gives the first view. */
    private fun firstView(jar: File): String {
        val record = File(dir, "record").apply { mkdirs() }
        // Nothing of this test's own class path is seen by them; JNA's own library lies in its jar.
        URLClassLoader((listOf(jar, nativeOfJna()) + KOTLIN.map(::jar)).map { it.toURI().toURL() }.toTypedArray(), ClassLoader.getPlatformClassLoader()).use { loader ->
            fun named(name: String) = Class.forName(name, true, loader)
            val stamp = named("standsquare.view.Stamp").constructors.first { it.parameterCount == 3 }.newInstance(1_795_593_600_000, 60, ByteArray(32))
            val companion = named("standsquare.core.Phone").getField("Companion").get(null)
            val phone = companion.javaClass.methods.first { it.name == "open" && it.parameterCount == 3 }.invoke(companion, record.path, ByteArray(32), stamp)
            val view = phone.javaClass.getMethod("view").invoke(phone).toString()
            phone.javaClass.getMethod("close").invoke(phone)
            return view
        }
    }

    /** JNA's native part, which a phone's package holds beside the classes. */
    private fun nativeOfJna(): File {
        val to = File(dir, "native.jar")
        java.util.zip.ZipFile(jar("jna")).use { zip ->
            java.util.zip.ZipOutputStream(to.outputStream()).use { out ->
                for (entry in zip.entries()) if (!entry.isDirectory && !entry.name.endsWith(".class")) {
                    out.putNextEntry(java.util.zip.ZipEntry(entry.name))
                    zip.getInputStream(entry).copyTo(out)
                }
            }
        }
        return to
    }

    /** The keep rules keep enough: what R8 leaves still opens a record through JNA. (Without the order of a structure's fields, which is an annotation, it did not.) */
    @Test
    fun whatR8LeavesStillReachesTheCore() {
        val jar = shrunk(keep + entry)
        fun classes(file: File) = java.util.zip.ZipFile(file).use { zip -> zip.entries().asSequence().count { it.name.endsWith(".class") } }
        val before = classes(jar("jna")) + ours.take(2).sumOf { classesOf(it).size }
        assertTrue("classes were made of classes", classes(jar) in 100..before)
        val view = firstView(jar)
        assertTrue(view, "title.home" in view)
        println("R8 with keep.pro: $before classes, ${classes(jar)} left, ${jar.length()} bytes; a record opens through them")
    }

    /** A code is still found by what R8 leaves of the reader and of ZXing, which the keep rules do not name. */
    @Test
    fun whatR8LeavesStillReadsCodes() {
        val jar = File(dir, "reader.jar")
        val command = R8Command.builder(handler).setOutput(jar.toPath(), OutputMode.ClassFile)
            .addLibraryResourceProvider(JdkClassFileProvider.fromSystemJdk())
            .addLibraryFiles(jar("kotlin-stdlib").toPath()).addProgramFiles(zxing.toPath())
            .addProguardConfiguration(keep + listOf("-keep class standsquare.device.CodeReader { *; }", "-ignorewarnings"), Origin.unknown())
        for ((name, bytes) in classesOf(ours.last())) if (name.startsWith("standsquare/device/CodeReader")) command.addClassProgramData(bytes, Origin.unknown())
        R8.run(command.build())
        val text = "SSQ1:ANY TEXT 123"
        val matrix = com.google.zxing.qrcode.QRCodeWriter().encode(text, com.google.zxing.BarcodeFormat.QR_CODE, 200, 200)
        val picture = ByteArray(200 * 200) { if (matrix.get(it % 200, it / 200)) 20 else 120 }
        val read = mutableListOf<String>()
        URLClassLoader(arrayOf(jar.toURI().toURL(), jar("kotlin-stdlib").toURI().toURL()), ClassLoader.getPlatformClassLoader()).use { loader ->
            val function1 = loader.loadClass("kotlin.jvm.functions.Function1")
            fun played(type: Class<*>, answer: (Array<Any?>?) -> Any?) = java.lang.reflect.Proxy.newProxyInstance(loader, arrayOf(type)) { _, _, given -> answer(given) }
            val reader = loader.loadClass("standsquare.device.CodeReader").constructors.first { it.parameterCount == 1 }
                .newInstance(played(function1) { read += it!![0] as String; null })
            reader.javaClass.methods.first { it.name == "take" }.invoke(reader, picture, 200, 200, 200)
        }
        assertEquals(listOf(text), read)
        val before = classesOf(zxing).size
        println("R8: $before classes of ZXing, ${classesOf(jar).count { (name, _) -> !name.startsWith("standsquare/") }} left, ${jar.length()} bytes; a code is read through them")
    }

    /** JNA's own libraries in the archive that the app takes, laid out for pages of 16 KiB on every ABI that the app is built for. */
    @Test
    fun jnasLibrariesLoadOnPagesOf16KiB() {
        val abis = Regex("""include\(([^)]*)\)""").find(File(root, "android/app/build.gradle.kts").readText())!!.groupValues[1]
            .split(',').map { it.trim().trim('"') }
        assertTrue("$abis", "arm64-v8a" in abis)
        java.util.zip.ZipFile(jnaArchive).use { zip ->
            for (abi in abis) {
                val elf = zip.getInputStream(checkNotNull(zip.getEntry("jni/$abi/libjnidispatch.so")) { "JNA has none for $abi" }).readBytes()
                for (align in loadAlignments(elf)) assertTrue("$abi: $align", align >= 16 * 1024 && align % (16 * 1024) == 0L)
            }
        }
    }

    /** Alignments of an ELF file's loadable segments (System V ABI, program header: type 1 is PT_LOAD). */
    private fun loadAlignments(elf: ByteArray): List<Long> {
        val bytes = java.nio.ByteBuffer.wrap(elf).order(java.nio.ByteOrder.LITTLE_ENDIAN)
        val wide = elf[4].toInt() == 2
        val at = if (wide) bytes.getLong(32).toInt() else bytes.getInt(28)
        val size = bytes.getShort(if (wide) 54 else 42).toInt()
        val count = bytes.getShort(if (wide) 56 else 44).toInt()
        val found = (0 until count).map { at + it * size }.filter { bytes.getInt(it) == 1 }
            .map { if (wide) bytes.getLong(it + 48) else bytes.getInt(it + 28).toLong() }
        assertTrue("segments were found", found.isNotEmpty())
        return found
    }

    /** The rules themselves are read: a mistake in them is an error and no silence. */
    @Test
    fun aMistakeInTheRulesIsNoticed() {
        assertThrows(CompilationFailedException::class.java) { shrunk(listOf("-kep class a")) }
    }
}
