import Foundation

/// A code that stays before the camera is told once, and again when it was out of sight.
public struct CodesHeard: Sendable {
    private var last: (text: String, at: TimeInterval)?

    /// A code that was out of sight for so long is read anew, seconds. Own choice, no source.
    public static let stays: TimeInterval = 1.5

    public init() {}

    /// Whether a code that is seen at this moment (seconds of a clock that only goes forward) is
    /// to be told.
    public mutating func isNew(_ text: String, at now: TimeInterval) -> Bool {
        let again = last.map { $0.text == text && now - $0.at < Self.stays } ?? false
        last = (text, now)
        return !again
    }
}
