// Declarations only, for tests on Linux: the part of CoreMotion that this app uses, as we read its
// documentation. Nothing here does anything, and nothing of it goes onto a phone.

import Foundation

public struct CMAcceleration: Sendable {
    public var x: Double
    public var y: Double
    public var z: Double
}

open class CMDeviceMotion: NSObject {
    open var gravity: CMAcceleration { undone() }
}

open class CMMotionManager: NSObject {
    open var isDeviceMotionAvailable: Bool { undone() }
    open var isDeviceMotionActive: Bool { undone() }
    open var deviceMotionUpdateInterval: TimeInterval {
        get { undone() }
        set {}
    }
    open var deviceMotion: CMDeviceMotion? { undone() }
    open func startDeviceMotionUpdates() { undone() }
    open func stopDeviceMotionUpdates() { undone() }
}

private func undone() -> Never { fatalError("declarations only") }
