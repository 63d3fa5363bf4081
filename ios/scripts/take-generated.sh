#!/usr/bin/env bash
# Takes what `cargo xtask bindings` made from FOLDER into Generated/, where Package.swift looks for
# it. Only what changed is copied, so that swift builds only what changed.
#
#   ios/scripts/take-generated.sh FOLDER [LIBRARY]
set -euo pipefail

here=$(cd -- "$(dirname -- "${BASH_SOURCE[0]}")" && pwd -P)
made=${1:?the folder that cargo xtask bindings made}
library=${2:-}
made=$(cd -- "$made" && pwd -P)
cd -- "$here/.."

stop() {
    printf 'ios: %s\n' "$*" >&2
    exit 1
}

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
if [ -n "$library" ]; then
    put "$library" "Generated/lib/${library##*/}"
    kept+=("Generated/lib/${library##*/}")
fi
# A file of an earlier interface must not be built into this one.
find Generated -path Generated/Standsquare.xcframework -prune -o -type f -print |
    while IFS= read -r file; do
        case " ${kept[*]} " in
        *" $file "*) ;;
        *) rm -- "$file" ;;
        esac
    done
