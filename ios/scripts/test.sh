#!/usr/bin/env bash
# Builds and tests the Swift side on Linux against the real core, and ends with swift's own
# closing lines. `cargo xtask test` calls it.
#
# It takes what `cargo xtask bindings` makes: the library and the Swift generated from it, in
# $STANDSQUARE_BINDINGS (target/bindings of this checkout when unset, and then made first).
# Arguments are handed to `swift test`, for example --filter RecordedSessions.
set -euo pipefail

here=$(cd -- "$(dirname -- "${BASH_SOURCE[0]}")" && pwd -P)
ios=$(dirname -- "$here")
cd -- "$ios"

say() { printf 'ios: %s\n' "$*" >&2; }
stop() {
    say "$*"
    exit 1
}

# 1. The core, as generated.

made=${STANDSQUARE_BINDINGS:-}
if [ -z "$made" ]; then
    made=${CARGO_TARGET_DIR:-$(dirname -- "$ios")/target}/bindings
    (cd .. && cargo xtask bindings)
fi
library=$made/library/libstandsquare_bindings.so
[ -f "$library" ] || stop "$library is not there: run 'cargo xtask bindings' first."

"$here/take-generated.sh" "$made" "$library"

# 2. Swift.

swift() { "$here/linux-swift.sh" "$@"; }

# Swift 6.0's libswiftObservation for Linux leaves swift::threading::fatal undefined (its way to
# end the process when a lock fails); the linker is told that this is known.
flags=(-Xlinker --allow-shlib-undefined)
flags+=(-Xlinker "-L/src/ios/Generated/lib" -Xlinker "-rpath=/src/ios/Generated/lib")
swift swift build --quiet --build-tests "${flags[@]}"

# What needs Apple's frameworks is type-checked against declarations of our own: spelling and
# types as we read the documentation, not behaviour. README.md says so.
swift bash scripts/type-check.sh

swift swift test --quiet --disable-xctest --skip-build "${flags[@]}" "$@"

# 3. The Xcode project and the frame of the library, as far as they go without a Mac.
python3 -B scripts/test_xcode_project.py --quiet
STANDSQUARE_BINDINGS=$made "$here/xcframework.sh" --dry-run >/dev/null
say "the Xcode project made and read back; the library's packing tried as far as it goes here"
