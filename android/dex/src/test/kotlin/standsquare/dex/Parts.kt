package standsquare.dex

import java.io.File

/** The repository's root, as Maven hands it over. */
internal val root = File(checkNotNull(System.getProperty("standsquare.root")) { "run by Maven" })

/** The lowest API level that the app says it runs on: read from its build, so that they cannot differ. */
internal val minSdk: Int = Regex("""minSdk = (\d+)""").find(File(root, "android/app/build.gradle.kts").readText())!!.groupValues[1].toInt()

private val classpath = checkNotNull(System.getProperty("surefire.test.class.path") ?: System.getProperty("java.class.path"))
    .split(File.pathSeparator).map(::File)

/** A jar of the class path by the start of its name; a module's own folder where Maven has made no jar yet. */
internal fun jar(name: String): File = classpath.first { Regex(Regex.escape(name) + "-[0-9].*").matches(it.name) || it.path.endsWith("$name/target/classes") }

/** Our own classes, as they go onto the phone. */
internal val ours = listOf("core", "gateway", "screens", "device").map {
    classpath.first { file -> file.name.startsWith("standsquare-android-$it-") || file.path.endsWith("/$it/target/classes") }
}

/** What finds codes in a camera's pictures. */
internal val zxing = classpath.first { "/com/google/zxing/core/" in it.path }

/** What they need of others, that the phone's app brings along as well. */
internal val brought = listOf(zxing) + listOf("kotlin-stdlib", "kotlinx-coroutines-core-jvm", "kotlinx-serialization-json-jvm", "kotlinx-serialization-core-jvm", "jna").map(::jar)

/** The phone's framework. */
internal val framework = jar("android-all")

private val COMPOSE = listOf("/org/jetbrains/compose/", "/org/jetbrains/skiko/", "/androidx/")

/** Compose for the desktop: the phone has androidx's in its place, with the same names. */
internal val compose = classpath.filter { file -> COMPOSE.any { it in file.path } && file.extension == "jar" }

/** Class files of a jar or a folder, with where they lie in it. */
internal fun classesOf(file: File): List<Pair<String, ByteArray>> = if (file.isDirectory) {
    file.walk().filter { it.extension == "class" }.map { it.relativeTo(file).path to it.readBytes() }.toList()
} else java.util.zip.ZipFile(file).use { zip ->
    zip.entries().asSequence().filter { it.name.endsWith(".class") && !it.name.startsWith("META-INF/") && it.name != "module-info.class" }
        .map { it.name to zip.getInputStream(it).readBytes() }.toList()
}

/** JNA as the app takes it: Maven puts it beside the classes. */
internal val jnaArchive = File(root, "android/dex/target/jna.aar")
