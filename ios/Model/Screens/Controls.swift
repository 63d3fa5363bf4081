import Foundation
import StandsquareCore

/// Something a finger can do: sent back to the model as it is. What is in it is the core's.
public struct Tap: Sendable, Hashable {
    let act: Act
    let seen: Int64
}

/// How much weight a button carries. At most one is `main`.
public enum Weight: Sendable, Hashable, CaseIterable {
    case main, equal, other, stop, quiet
}

/// A button.
public struct ButtonState: Sendable, Hashable, Identifiable {
    /// Stable: the tag in tests.
    public let id: String
    public let label: String
    public let weight: Weight
    public let tap: Tap
    public let enabled: Bool
    /// Why it cannot be used now; said with the button, never instead of it.
    public let whyNot: String?
}

/// The weight of a notice; a view marks it by shape and words, not by colour alone.
public enum Mood: Sendable, Hashable, CaseIterable {
    case good, care, bad
}

/// A message with its weight.
public struct NoticeState: Sendable, Hashable {
    public let mood: Mood
    public let text: String
    /// The mark that a view draws beside it, for who does not see it.
    public let said: String
}

/// How the radio stands with the chip reader.
public enum LinkState: Sendable, Hashable, CaseIterable {
    case none, looking, connected, lost
}

/// The reader's badge.
public struct ReaderState: Sendable, Hashable {
    public let link: LinkState
    public let text: String
    /// What the reader calls itself; empty if unknown.
    public let name: String
    /// The one that the radio is to connect to.
    public let wanted: WantedReaderState?
    /// Whether the radio is to tell every reader that it finds.
    public let look: Bool
}

/// What is still to be sent.
public struct OutboxState: Sendable, Hashable {
    public let waiting: Int
    public let text: String
}

/// The dog in hand: on every screen on which one is.
public struct DogHeading: Sendable, Hashable {
    public let name: String
    public let handler: String
    public let chip: String
    public let measure: String?
    /// Its place in the day, in words.
    public let number: String
}

/// A label and what belongs to it.
public struct PairState: Sendable, Hashable {
    public let label: String
    public let value: String
}

/// One way to answer, of a few; the one taken is marked.
public struct ChoiceState: Sendable, Hashable, Identifiable {
    public let id: String
    public let label: String
    public let chosen: Bool
    public let tap: Tap
}

/// Where a PIN is typed. It is never kept in a state: a view hands the digits over.
public struct PinEntry: Sendable, Hashable {
    public let person: String
    /// Whose PIN, and what for.
    public let prompt: String
    public let pad: PadState
    let purpose: Purpose
    let seen: Int64

    enum Purpose: Sendable, Hashable {
        case set, sign, unlock, practice
    }

    /// The tap that hands these digits over. Whether they are right is for the core to say.
    public func tap(digits: String) -> Tap {
        let act: Act =
            switch purpose {
            case .set: .setPin(person: person, pin: digits)
            case .sign: .sign(person: person, pin: digits)
            case .practice: .signPractice(person: person, pin: digits)
            case .unlock: .unlock(person: person, pin: digits)
            }
        return Tap(act: act, seen: seen)
    }
}

/// Where a text is typed that becomes an act.
public struct TextEntry: Sendable, Hashable {
    public let prompt: String
    public let hint: String
    public let confirm: String
    /// The number keys to type it with; nothing where it is no number.
    public let pad: PadState?
    let purpose: Purpose
    let seen: Int64

    enum Purpose: Sendable, Hashable {
        case venue, chip, known, book, slip
        case paper(person: String)
    }

    /// The tap that hands this text over.
    public func tap(text: String) -> Tap {
        let act: Act =
            switch purpose {
            case .venue: .setVenue(name: text)
            case .chip: .chipTyped(number: text)
            case .paper(let person): .signOnPaper(person: person, paper: text)
            case .known: .knownChip(number: text)
            case .book: .bookCode(code: text)
            case .slip: .checkSlip(text: text)
            }
        return Tap(act: act, seen: seen)
    }
}

/// Where the phone's own tilt goes in.
public struct LevelEntry: Sendable, Hashable {
    let seen: Int64

    /// The tap that hands a reading over, thousandths of a degree about the phone's short side
    /// (`x`) and its long side (`y`).
    public func tap(xMdeg: Int32, yMdeg: Int32) -> Tap {
        Tap(act: .levelReading(xMdeg: xMdeg, yMdeg: yMdeg), seen: seen)
    }
}

// MARK: - from the core's types

extension Drawing {
    /// A message of this weight.
    func notice(_ mood: Mood, _ text: String) -> NoticeState {
        NoticeState(mood: mood, text: text, said: words(mood.key))
    }

    /// The same, of a message that may not be there.
    func notice(_ mood: Mood, _ text: Text?) -> NoticeState? {
        text.map { notice(mood, words($0)) }
    }
}

extension Mood {
    fileprivate var key: String {
        switch self {
        case .good: "ui.tone.good"
        case .care: "ui.tone.care"
        case .bad: "ui.tone.bad"
        }
    }
}

extension Weight {
    init(_ role: Role) {
        self =
            switch role {
            case .main: .main
            case .equal: .equal
            case .other: .other
            case .stop: .stop
            case .quiet: .quiet
            }
    }
}

extension Mood {
    init(_ tone: Tone) {
        self =
            switch tone {
            case .good: .good
            case .care: .care
            case .bad: .bad
            }
    }
}

extension LinkState {
    init(_ link: ReaderLink) {
        self =
            switch link {
            case .none: .none
            case .looking: .looking
            case .connected: .connected
            case .lost: .lost
            }
    }

    var core: ReaderLink {
        switch self {
        case .none: .none
        case .looking: .looking
        case .connected: .connected
        case .lost: .lost
        }
    }
}
