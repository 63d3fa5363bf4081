#if canImport(CoreMotion)
import CoreMotion
import Foundation

/// The phone's own tilt, for the surface it lies on.
public final class Tilt {
    private let motion = CMMotionManager()

    public init() {}

    /// Begins to listen. Nothing is kept; `reading()` gives the latest.
    public func start() {
        guard motion.isDeviceMotionAvailable else { return }
        motion.startDeviceMotionUpdates()
    }

    public func stop() {
        motion.stopDeviceMotionUpdates()
    }

    /// Tilt about the phone's short side and its long side, thousandths of a degree; nothing
    /// where the phone has no such sense. Lying flat on its back, gravity is (0, 0, -1).
    public func reading() -> (xMdeg: Int32, yMdeg: Int32)? {
        guard let gravity = motion.deviceMotion?.gravity else { return nil }
        func mdeg(_ side: Double) -> Int32 {
            Int32((atan2(side, -gravity.z) * 180_000 / .pi).rounded())
        }
        return (mdeg(gravity.y), mdeg(gravity.x))
    }
}
#endif
