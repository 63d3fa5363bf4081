#!/usr/bin/env bash
# Type-checks Device, Views and App in Swift 6 mode against Tests/Declarations, where there are
# no Apple frameworks. Called by test.sh once the package is built: Model's own module is used.
set -euo pipefail

here=$(cd -- "$(dirname -- "${BASH_SOURCE[0]}")" && pwd -P)
cd -- "$here/.."

say() { printf 'ios: %s\n' "$*" >&2; }
stop() {
    say "$*"
    exit 1
}

out=.build/declarations
rm -rf -- "$out"
mkdir -p -- "$out"
built=.build/debug/Modules
[ -f "$built/StandsquareModel.swiftmodule" ] || stop "the package is not built: run scripts/test.sh."

swift6=(swiftc -swift-version 6 -I "$out" -module-cache-path .build/declarations-cache)
model=(-I "$built")
for crate in View Core; do
    model+=(-Xcc "-fmodule-map-file=Generated/Standsquare${crate}FFI/module.modulemap")
done

# 1. The frameworks, as declared.
for framework in AudioToolbox CoreMotion BackgroundTasks Security CoreBluetooth \
    LocalAuthentication Network UIKit AVFoundation SwiftUI; do
    "${swift6[@]}" -emit-module -parse-as-library -suppress-warnings \
        -module-name "$framework" -o "$out/$framework.swiftmodule" \
        "Tests/Declarations/$framework"/*.swift
done

# 2. What must not compile: that the check can fail.
for wrong in Tests/Declarations/Wrong/*.swift; do
    if "${swift6[@]}" -typecheck -parse-as-library "$wrong" 2>"$out/wrong.log"; then
        stop "$wrong was taken: nothing is checked."
    fi
    grep -q 'error:' "$out/wrong.log" || stop "$wrong: $(cat "$out/wrong.log")"
done

# 3. Our own, each as the module that it is on a phone.
check() {
    local name=$1 folder=$2
    shift 2
    local files=()
    mapfile -t files < <(find "$folder" -name '*.swift' | sort)
    "${swift6[@]}" "${model[@]}" -typecheck -parse-as-library -warnings-as-errors \
        -D STANDSQUARE_DECLARATIONS -module-name "$name" \
        Tests/Declarations/Foundation.swift "${files[@]}"
    "${swift6[@]}" "${model[@]}" -emit-module -parse-as-library -suppress-warnings \
        -D STANDSQUARE_DECLARATIONS -module-name "$name" -o "$out/$name.swiftmodule" \
        Tests/Declarations/Foundation.swift "${files[@]}"
    say "type-checked ${#files[@]} files of $folder against the declarations, in Swift 6 mode"
}
check StandsquareDevice Device
check StandsquareViews Views
check Standsquare App
