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

# Only what changed is copied, so that swift builds only what changed.
put() {
    mkdir -p -- "$(dirname -- "$2")"
    cmp -s -- "$1" "$2" || cp -- "$1" "$2"
}
kept=()
for crate in View Core; do
    for file in "Standsquare$crate.swift" "Standsquare${crate}FFI.h" "Standsquare${crate}FFI.modulemap"; do
        [ -f "$made/swift/$file" ] || stop "$made/swift/$file is not there: run 'cargo xtask bindings' again."
        case $file in
        *.swift) to=Generated/StandsquareCore/$file ;;
        *.h) to=Generated/Standsquare${crate}FFI/$file ;;
        *) to=Generated/Standsquare${crate}FFI/module.modulemap ;;
        esac
        put "$made/swift/$file" "$to"
        kept+=("$to")
    done
done
put "$library" Generated/lib/libstandsquare_bindings.so
kept+=(Generated/lib/libstandsquare_bindings.so)
# A file of an earlier interface must not be built into this one.
find Generated -type f | while IFS= read -r file; do
    case " ${kept[*]} " in
    *" $file "*) ;;
    *) rm -- "$file" ;;
    esac
done

# 2. Swift.

swift() { "$here/linux-swift.sh" "$@"; }

# What needs Apple's frameworks is parsed: its blocks under `#if canImport` are read too, but
# nothing in them is resolved. README.md says so.
mapfile -t apple < <(find Device Views App -name '*.swift' | sort)
swift swiftc -parse -swift-version 6 "${apple[@]}"
say "parsed ${#apple[@]} files of Device, Views and App"

# Swift 6.0's libswiftObservation for Linux leaves swift::threading::fatal undefined (its way to
# end the process when a lock fails); the linker is told that this is known.
flags=(-Xlinker --allow-shlib-undefined)
flags+=(-Xlinker "-L/src/ios/Generated/lib" -Xlinker "-rpath=/src/ios/Generated/lib")
swift swift test --quiet --disable-xctest "${flags[@]}" "$@"
