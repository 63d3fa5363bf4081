// swift-tools-version: 6.0
// Model over the core through UniFFI's Swift; Device and Views for the phone.
// Generated/ is filled from the library's own build, by scripts/test.sh for the tests and by
// scripts/xcframework.sh for a phone: README.md says how.
import Foundation
import PackageDescription

// For a phone the library lies in a frame with one for each kind of processor; for the tests the
// linker is told where the machine's own is.
let frame = "Generated/Standsquare.xcframework"
let framed = FileManager.default.fileExists(atPath: "\(Context.packageDirectory)/\(frame)")

let package = Package(
    name: "Standsquare",
    defaultLocalization: "en",
    platforms: [.iOS(.v17)],
    products: [
        .library(name: "StandsquareModel", targets: ["StandsquareModel"]),
        .library(name: "StandsquareDevice", targets: ["StandsquareDevice"]),
        .library(name: "StandsquareViews", targets: ["StandsquareViews"]),
    ],
    targets: [
        // What UniFFI generates: C headers of the two crates, and Swift over both.
        .systemLibrary(name: "StandsquareViewFFI", path: "Generated/StandsquareViewFFI"),
        .systemLibrary(name: "StandsquareCoreFFI", path: "Generated/StandsquareCoreFFI"),
        .target(
            name: "StandsquareCore",
            dependencies: ["StandsquareViewFFI", "StandsquareCoreFFI"]
                + (framed ? ["StandsquareLibrary"] : []),
            path: "Generated/StandsquareCore",
            linkerSettings: framed ? [] : [.linkedLibrary("standsquare_bindings")]
        ),
        .target(name: "StandsquareModel", dependencies: ["StandsquareCore"], path: "Model"),
        .target(name: "StandsquareDevice", dependencies: ["StandsquareModel"], path: "Device"),
        .target(
            name: "StandsquareViews", dependencies: ["StandsquareModel", "StandsquareDevice"],
            path: "Views"),
        // Does the acts of a recorded session in a process of its own, so that a test can kill it.
        .executableTarget(
            name: "Rehearse", dependencies: ["StandsquareModel"], path: "Tests/Rehearse"),
        .testTarget(
            name: "ModelTests", dependencies: ["StandsquareModel", "Rehearse"],
            path: "Tests/ModelTests"),
        .testTarget(
            name: "DeviceTests", dependencies: ["StandsquareDevice", "StandsquareModel"],
            path: "Tests/DeviceTests"),
    ] + (framed ? [.binaryTarget(name: "StandsquareLibrary", path: frame)] : []),
    swiftLanguageModes: [.v6]
)
