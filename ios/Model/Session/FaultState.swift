import Foundation
import StandsquareCore

/// Why the record itself cannot be read or written, in words that say what to do.
public struct FaultState: Sendable, Hashable {
    public let title: String
    /// What to do.
    public let notice: NoticeState
    public var text: String { notice.text }
    /// That nothing answered so far is lost.
    public let comfort: String
    /// What the button that opens the record again is called.
    public let tryAgain: String
    /// For the log, never for the screen.
    public let reason: String

    init(_ fault: any Error, words: Words) {
        let (key, reason) =
            switch fault as? PhoneFault {
            case .DiskFull(let reason): ("ui.fault.disk_full", reason)
            case .ReadOnly(let reason): ("ui.fault.read_only", reason)
            case .InUse(let reason): ("ui.fault.in_use", reason)
            case .TooNew(let reason): ("ui.fault.too_new", reason)
            case .OtherPhone(let reason): ("ui.fault.other_phone", reason)
            case .Damaged(let reason): ("ui.fault.damaged", reason)
            case .Internal(let reason): ("ui.fault.internal", reason)
            case nil: ("ui.fault.internal", String(describing: fault))
            }
        title = words("ui.fault.title")
        notice = NoticeState(mood: .bad, text: words(key), said: words("ui.tone.bad"))
        tryAgain = words("ui.fault.try_again")
        comfort = words("ui.fault.kept")
        self.reason = reason
    }
}
