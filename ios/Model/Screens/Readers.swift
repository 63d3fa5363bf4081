import Foundation
import StandsquareCore

/// What carries a reader's bytes.
public enum ReaderWay: Sendable, Hashable, CaseIterable {
    /// Bluetooth Low Energy.
    case ble
    /// A classic serial port.
    case serial
    /// Key strokes, as from a keyboard.
    case keys
}

/// The reader that the radio is to connect to, and to look for again whenever the link is gone.
public struct WantedReaderState: Sendable, Hashable {
    /// What the platform knows it by.
    public let reader: String
    public let way: ReaderWay
}

/// The chip readers: how the one in use does with a known chip, and which there are.
public struct ReadersState: Sendable, Hashable {
    public struct Line: Sendable, Hashable, Identifiable {
        public let id: String
        public let name: String
        /// How it stands.
        public let standing: String
        /// What carries its bytes, used last, what it sends, its battery.
        public let notes: String
        public let link: LinkState
        /// Uses this one; absent for the one in use.
        public let use: Tap?
        /// What using it is called, for who cannot see the list.
        public let useLabel: String
    }

    /// A reader tried out with a known chip.
    public struct Trial: Sendable, Hashable {
        public let heading: String
        public let said: NoticeState
        /// The number as read, and what the reader sends.
        public let number: String?
        public let form: String?
        /// The known chip's number, where somebody said it.
        public let known: String?
        /// Where only a person can tell what the number is.
        public let choices: [ChoiceState]
    }

    public let heading: String
    /// What to do where there are none.
    public let none: String?
    public let readers: [Line]
    public let trial: Trial?
    /// For the number printed with the known chip; absent where none may be typed.
    public let known: TextEntry?

    init(_ screen: ReadersScreen, _ d: Drawing) {
        heading = d.words("ui.readers.near")
        none = screen.readers.isEmpty ? d.words("ui.readers.none") : nil
        readers = screen.readers.map { Line($0, d) }
        trial = screen.trial.map { Trial($0, d) }
        known =
            screen.mayType
            ? TextEntry(
                prompt: d.words("ui.readers.type"), hint: d.words("ui.readers.type_hint"),
                confirm: d.words("ui.pin.enter"),
                pad: PadState(9...15, secret: false, mayShow: false, d), purpose: .known,
                seen: d.seen) : nil
    }
}

extension ReadersState.Line {
    init(_ line: ReaderLine, _ d: Drawing) {
        id = line.id
        name = d.words(line.name)
        standing = d.words(line.state)
        notes = d.words([line.carrier] + line.notes).joined(separator: " · ")
        link = LinkState(line.link)
        use = line.choose.map { d.tap($0) }
        useLabel = d.words("ui.readers.use", ["reader": .plain(name)])
    }
}

extension ReadersState.Trial {
    init(_ trial: ReaderTrial, _ d: Drawing) {
        heading = d.words("ui.readers.trial")
        said = d.notice(Mood(trial.tone), d.words(trial.state))
        number = trial.number
        form = d.words(trial.form)
        known = trial.known.map { d.words("ui.readers.known", ["number": .plain($0)]) }
        choices = trial.choices.map {
            ChoiceState(
                id: $0.number, label: d.words("ui.readers.is", ["number": .plain($0.number)]),
                chosen: false, tap: d.tap($0.act))
        }
    }
}

extension ReaderWay {
    init(_ carrier: ReaderCarrier) {
        self =
            switch carrier {
            case .ble: .ble
            case .serial: .serial
            case .keys: .keys
            }
    }

    var core: ReaderCarrier {
        switch self {
        case .ble: .ble
        case .serial: .serial
        case .keys: .keys
        }
    }
}
