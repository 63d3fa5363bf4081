// The app for a real phone. It compiles the same sources as the Maven modules beside it,
// for Android instead of the desktop. It needs Google's registry and the Android SDK;
// where those cannot be had it cannot be built (see ../README.md).
//
//   cargo xtask bindings                      the generated Kotlin
//   cargo xtask library --target TARGET       the library for each ABI; copy it to
//                                             target/bindings/jniLibs/ABI
//   gradle assembleRelease                    signed if STANDSQUARE_KEYSTORE is set

plugins {
    id("com.android.application") version "8.13.0"
    kotlin("android") version "2.2.21"
    kotlin("plugin.compose") version "2.2.21"
}

val repository = rootDir.parentFile.parentFile

android {
    namespace = "standsquare.app"
    compileSdk = 35

    defaultConfig {
        applicationId = "standsquare.app"
        minSdk = 26
        targetSdk = 35
        versionCode = 1
        versionName = "0.1.0"
    }

    sourceSets.getByName("main") {
        kotlin.srcDirs(
            "src/main/kotlin",
            "../gateway/src/main/kotlin",
            "../screens/src/main/kotlin",
            "../device/src/main/kotlin",
            File(repository, "target/bindings/kotlin"),
        )
        // words/ and typeface/ as resources of the classes, as on the desktop.
        resources.srcDirs(layout.buildDirectory.dir("resources-of-screens"))
        jniLibs.srcDirs(File(repository, "target/bindings/jniLibs"))
    }

    buildTypes.getByName("release") {
        isMinifyEnabled = true
        proguardFiles(getDefaultProguardFile("proguard-android-optimize.txt"), "keep.pro")
        val keystore = System.getenv("STANDSQUARE_KEYSTORE")
        if (keystore != null) {
            signingConfig = signingConfigs.create("release") {
                storeFile = File(keystore)
                storePassword = System.getenv("STANDSQUARE_KEYSTORE_PASSWORD")
                keyAlias = System.getenv("STANDSQUARE_KEY_ALIAS")
                keyPassword = System.getenv("STANDSQUARE_KEY_PASSWORD")
            }
        }
    }

    splits.abi {
        isEnable = true
        reset()
        include("arm64-v8a", "armeabi-v7a", "x86_64")
    }

    // Uncompressed and on page boundaries of 16 KiB, so that newer phones load them as they
    // lie; `cargo xtask library` links ours for such pages, and JNA's is (tested in dex/).
    packaging.jniLibs.useLegacyPackaging = false
    packaging.resources.excludes += setOf("META-INF/AL2.0", "META-INF/LGPL2.1")

    compileOptions {
        sourceCompatibility = JavaVersion.VERSION_17
        targetCompatibility = JavaVersion.VERSION_17
    }
}

val screensResources by tasks.registering(Copy::class) {
    from(File(repository, "bindings/words")) { include("*.json"); into("words") }
    // Fetched and checked by `mvn -f android/pom.xml generate-resources`.
    from(File(repository, "android/screens/target/typeface")) { into("typeface") }
    into(layout.buildDirectory.dir("resources-of-screens"))
}
tasks.named("preBuild") { dependsOn(screensResources) }

dependencies {
    implementation("net.java.dev.jna:jna:5.19.1@aar")
    implementation("org.jetbrains.kotlinx:kotlinx-coroutines-android:1.10.2")
    implementation("org.jetbrains.kotlinx:kotlinx-serialization-json:1.9.0")
    implementation("com.google.zxing:core:3.5.4")
    implementation("androidx.activity:activity-compose:1.10.1")
    implementation("androidx.compose.foundation:foundation:1.8.2")
    implementation("androidx.compose.ui:ui:1.8.2")
}
