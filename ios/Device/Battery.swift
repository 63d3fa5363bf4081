#if canImport(UIKit)
import Foundation
import UIKit

/// What is left in the phone's battery, told whenever the system says that it changed. What is
/// little, the core says.
@MainActor
public final class Battery {
    private var watching: [NSObjectProtocol] = []
    private let told: @MainActor (UInt8, Bool) -> Void

    /// Hears of it: percent, and whether it is being charged.
    public init(told: @escaping @MainActor (UInt8, Bool) -> Void) {
        self.told = told
    }

    /// Watches from now on.
    public func start() {
        guard watching.isEmpty else { return }
        UIDevice.current.isBatteryMonitoringEnabled = true
        let changes = [
            UIDevice.batteryLevelDidChangeNotification, UIDevice.batteryStateDidChangeNotification,
        ]
        watching = changes.map {
            NotificationCenter.default.addObserver(forName: $0, object: nil, queue: .main) {
                [weak self] _ in
                MainActor.assumeIsolated { self?.tell() }
            }
        }
        tell()
    }

    private func tell() {
        let device = UIDevice.current
        // Below 0: not known, as in a simulator.
        guard device.batteryLevel >= 0 else { return }
        let percent = UInt8((min(device.batteryLevel, 1) * 100).rounded())
        let charging = device.batteryState == .charging || device.batteryState == .full
        told(percent, charging)
    }
}
#endif
