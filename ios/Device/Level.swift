import Foundation

/// The phone as a level: angles from the way gravity pulls while it lies there. What is level
/// enough, the core says.
public enum Level {
    /// Angles of a phone lying screen up, in thousandths of a degree: about its short side (`x`)
    /// and its long side (`y`), as on Android.
    ///
    /// - Parameters: gravity along the phone's axes, any unit, as Core Motion gives it: flat on
    ///   its back that is (0, 0, -1).
    public static func mdeg(gravityX x: Double, y: Double, z: Double) -> (
        xMdeg: Int32, yMdeg: Int32
    ) {
        func angle(_ part: Double, _ rest: Double) -> Int32 {
            Int32((atan2(part, rest) * 180_000 / .pi).rounded())
        }
        // Android's sensor shows what holds the phone up, Core Motion what pulls it down.
        return (angle(-y, hypot(x, z)), angle(-x, hypot(y, z)))
    }
}
