import Foundation

/// What the radio is to do, worked out from what the session wants and how the radio stands: pure,
/// so that it is tested where there is no radio.
public struct ReaderSearch: Sendable, Hashable {
    /// A step for the radio.
    public enum Step: Sendable, Hashable {
        /// Look for readers and tell of each.
        case scan
        /// Look no more.
        case stopScan
        /// Connect to this one, however long it takes until it is there.
        case connect(String)
        /// Let this one go.
        case letGo(String)
    }

    private var powered = false
    private var wanted: String?
    private var look = false
    /// The reader that a connection was asked for.
    private var asked: String?
    private var scanning = false

    public init() {}

    /// The one that is wanted now.
    public var current: String? { wanted }

    /// The radio was switched on or off. What was asked of it before is forgotten by the system.
    public mutating func radio(powered: Bool) -> [Step] {
        self.powered = powered
        if !powered {
            asked = nil
            scanning = false
        }
        return steps()
    }

    /// The session wants this reader, or that readers are looked for.
    public mutating func follow(wanted: String?, look: Bool) -> [Step] {
        self.wanted = wanted
        self.look = look
        return steps()
    }

    /// The system gave back a connection that it had kept for the app.
    public mutating func restored(_ reader: String) -> [Step] {
        asked = reader
        return steps()
    }

    /// The link to this reader is gone, or could not be made: it is asked for again.
    public mutating func lost(_ reader: String) -> [Step] {
        if asked == reader { asked = nil }
        return steps()
    }

    private mutating func steps() -> [Step] {
        guard powered else { return [] }
        var steps: [Step] = []
        if let old = asked, old != wanted {
            steps.append(.letGo(old))
            asked = nil
        }
        if let wanted, asked == nil {
            steps.append(.connect(wanted))
            asked = wanted
        }
        if look != scanning {
            steps.append(look ? .scan : .stopScan)
            scanning = look
        }
        return steps
    }
}
