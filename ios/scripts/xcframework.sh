#!/usr/bin/env bash
# Builds the Rust core for iPhones and simulators and packs it as Generated/Standsquare.xcframework.
# On a Mac with Xcode:
#
#   ios/scripts/xcframework.sh
#   ios/scripts/xcframework.sh --dry-run    says each step, and does those that need no Mac: looks
#                                           for the headers, and makes the project (elsewhere)
#
# The generated Swift and C headers come from `cargo xtask bindings`, as for the tests.
set -euo pipefail

here=$(cd -- "$(dirname -- "${BASH_SOURCE[0]}")" && pwd -P)
ios=$(dirname -- "$here")
checkout=$(dirname -- "$ios")

say() { printf 'xcframework: %s\n' "$*" >&2; }
stop() {
    say "$*"
    exit 1
}

dry=
case ${1:-} in
"") ;;
--dry-run) dry=yes ;;
*) stop "there is no $1; there is --dry-run." ;;
esac

# A step that needs Apple's tools or their compilers: said, and done on a Mac.
step() {
    printf '+'
    printf ' %q' "$@"
    printf '\n'
    [ -n "$dry" ] || "$@"
}

if [ -z "$dry" ]; then
    [ "$(uname -s)" = Darwin ] || stop "this needs a Mac with Xcode. What can be tried elsewhere: --dry-run."
    command -v xcodebuild >/dev/null || stop "Xcode is not installed, or not chosen: xcode-select -s …"
fi

target=${CARGO_TARGET_DIR:-$checkout/target}
library=libstandsquare_bindings.a
out=$ios/Generated/Standsquare.xcframework
made=${STANDSQUARE_BINDINGS:-$target/bindings}

# 1. The generated Swift and headers.
for crate in View Core; do
    [ -f "$made/swift/Standsquare${crate}FFI.h" ] ||
        stop "$made/swift/Standsquare${crate}FFI.h is not there: run 'cargo xtask bindings' first."
done
step "$here/take-generated.sh" "$made"

# 2. The library, for each kind of processor; the oldest system as in App/project.toml.
oldest=$(sed -n 's/^deployment = "\(.*\)"$/\1/p' "$ios/App/project.toml")
[ -n "$oldest" ] || stop "App/project.toml does not say which system is the oldest (deployment = …)."
export IPHONEOS_DEPLOYMENT_TARGET=$oldest
for triple in aarch64-apple-ios aarch64-apple-ios-sim x86_64-apple-ios; do
    # bundled: SQLite's C is compiled with Xcode's own compiler for that system.
    step cargo build --manifest-path "$checkout/Cargo.toml" --package standsquare-bindings --lib \
        --locked --profile phone --target "$triple"
done

# 3. One library for both kinds of simulator.
fat=$target/simulator/$library
mkdir -p -- "$target/simulator"
step lipo -create "$target/aarch64-apple-ios-sim/phone/$library" \
    "$target/x86_64-apple-ios/phone/$library" -output "$fat"

# 4. The frame. Headers are not in it: the package has the modules.
[ -n "$dry" ] || rm -rf -- "$out"
step xcodebuild -create-xcframework -library "$target/aarch64-apple-ios/phone/$library" \
    -library "$fat" -output "$out"

# 5. The project around it.
if [ -n "$dry" ]; then
    "$here/xcode-project.py" "$target/xcode"
else
    step "$here/xcode-project.py"
fi
say "${dry:+said, not done: }Generated/Standsquare.xcframework and Standsquare.xcodeproj; next:"
say "xcodebuild -project ios/Standsquare.xcodeproj -scheme Standsquare STANDSQUARE_TEAM=… build"
