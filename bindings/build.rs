//! How the library is linked where it goes onto a phone (`--profile phone`).

use std::env;

fn main() {
    println!("cargo:rerun-if-changed=build.rs");
    let says = |name: &str| env::var(name).unwrap_or_default();
    // The profile for phones is the only one that asks for small code.
    let for_phones = says("OPT_LEVEL") == "s";
    // LLD is what Android's toolchain has, and Rust's own on Linux. Apple's linker folds
    // equal functions by itself.
    if for_phones && matches!(says("CARGO_CFG_TARGET_OS").as_str(), "linux" | "android") {
        // Equal functions once, and short relocations. Android reads those since API 28;
        // older ones need `-Wl,--pack-dyn-relocs=android` in their place.
        println!("cargo:rustc-cdylib-link-arg=-Wl,--icf=all");
        if says("CARGO_CFG_TARGET_OS") == "linux" {
            println!("cargo:rustc-cdylib-link-arg=-Wl,-z,pack-relative-relocs");
        } else {
            println!("cargo:rustc-cdylib-link-arg=-Wl,--pack-dyn-relocs=android");
        }
    }
}
