//! The core as Kotlin and Swift see it.
