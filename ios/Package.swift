// swift-tools-version: 6.0
// Model over the core through UniFFI's Swift; Device and Views for the phone.
// Generated/ is filled by scripts/test.sh from the library's own build: README.md says how.
import PackageDescription

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
            dependencies: ["StandsquareViewFFI", "StandsquareCoreFFI"],
            path: "Generated/StandsquareCore",
            linkerSettings: [.linkedLibrary("standsquare_bindings")]
        ),
        .target(name: "StandsquareModel", dependencies: ["StandsquareCore"], path: "Model"),
        .target(name: "StandsquareDevice", dependencies: ["StandsquareModel"], path: "Device"),
        .target(name: "StandsquareViews", dependencies: ["StandsquareModel"], path: "Views"),
        // Does the acts of a recorded session in a process of its own, so that a test can kill it.
        .executableTarget(
            name: "Rehearse", dependencies: ["StandsquareModel"], path: "Tests/Rehearse"),
        .testTarget(
            name: "ModelTests", dependencies: ["StandsquareModel", "Rehearse"],
            path: "Tests/ModelTests"),
        .testTarget(
            name: "DeviceTests", dependencies: ["StandsquareDevice", "StandsquareModel"],
            path: "Tests/DeviceTests"),
    ],
    swiftLanguageModes: [.v6]
)
