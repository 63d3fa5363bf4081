#if canImport(CoreMotion)
import CoreMotion
import Foundation

/// The phone's own tilt, for the surface it lies on.
public final class Tilt {
    private let motion = CMMotionManager()

    public init() {}

    /// Begins to listen. Nothing is kept; `reading()` gives the latest.
    public func start() {
        guard motion.isDeviceMotionAvailable, !motion.isDeviceMotionActive else { return }
        motion.deviceMotionUpdateInterval = 0.1
        motion.startDeviceMotionUpdates()
    }

    public func stop() {
        motion.stopDeviceMotionUpdates()
    }

    /// Tilt about the phone's short side and its long side, thousandths of a degree; nothing
    /// where the phone has no such sense, or has not felt anything yet.
    public func reading() -> (xMdeg: Int32, yMdeg: Int32)? {
        guard let gravity = motion.deviceMotion?.gravity else { return nil }
        return Level.mdeg(gravityX: gravity.x, y: gravity.y, z: gravity.z)
    }
}
#endif
