import Foundation
import StandsquareCore

/// Where the moment of an act and its randomness come from. The core never asks a clock or a
/// random source itself, so that a recorded session gives the same bytes on every phone.
public protocol MomentSource: Sendable {
    /// The stamp of the act that is about to be done.
    func stamp() -> Stamp
}

/// The phone's own clock and secure random source.
public struct PhoneMoment: MomentSource {
    public init() {}

    public func stamp() -> Stamp {
        let now = Date()
        return Stamp(
            atMs: Int64((now.timeIntervalSince1970 * 1000).rounded(.down)),
            offsetMin: Int32(TimeZone.current.secondsFromGMT(for: now) / 60),
            entropy: freshBytes(32)
        )
    }
}

/// `count` bytes from the platform's secure random source.
public func freshBytes(_ count: Int) -> Data {
    var source = SystemRandomNumberGenerator()
    return Data((0..<count).map { _ in UInt8.random(in: .min ... .max, using: &source) })
}
