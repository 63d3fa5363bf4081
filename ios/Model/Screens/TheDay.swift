import Foundation
import StandsquareCore

/// A dog in a list.
public struct QueuedDog: Sendable, Hashable, Identifiable {
    public let id: String
    public let name: String
    public let handler: String
    public let standing: String
    public let note: String?
    /// Where its record is, once signed.
    public let whereabouts: String?
    /// Calls the dog; absent where it cannot be called.
    public let call: Tap?
    /// What calling it is called, for who cannot see the list.
    public let callLabel: String
    /// Puts right what was entered for it; absent where nothing can be.
    public let putRight: Tap?
    /// What that is called, for who cannot see the list.
    public let putRightLabel: String
    /// When it may be its turn.
    public let wait: String?
    /// What the session's other phone has of it.
    public let beside: String?
    /// Shows what this phone knows of it.
    public let look: Tap?
    /// What that is called.
    public let lookLabel: String

    init(_ dog: DogLine, _ d: Drawing) {
        id = dog.id
        name = dog.name
        handler = d.words("ui.dog.handler", ["handler": .plain(dog.handler)])
        standing = d.words(dog.state.key)
        note = d.words(dog.note)
        whereabouts = dog.whereabouts.map { d.words($0.key) }
        call = dog.call.map { d.tap($0) }
        callLabel = d.words("ui.queue.call", ["dog": .plain(dog.name)])
        putRight = dog.putRight.map { d.tap($0) }
        putRightLabel = d.words("ui.queue.put_right", ["dog": .plain(dog.name)])
        wait = d.words(dog.wait)
        beside = d.words(dog.beside)
        look = dog.look.map { d.tap($0) }
        lookLabel = d.words("ui.queue.look", ["dog": .plain(dog.name)])
    }
}

/// Dogs under one heading, and what is said where there are none.
public struct DogGroup: Sendable, Hashable {
    public let heading: String
    public let dogs: [QueuedDog]
    public let none: String?

    init(_ key: String, _ dogs: [DogLine], none: String?, _ d: Drawing) {
        heading = d.words(key)
        self.dogs = dogs.map { QueuedDog($0, d) }
        self.none = dogs.isEmpty ? none.map { d.words($0) } : nil
    }
}

/// Who is next.
public struct QueueState: Sendable, Hashable {
    /// Not yet seen, in order.
    public let waiting: DogGroup
    /// Newest first.
    public let done: DogGroup
    /// That a chip just read is on no list here.
    public let newChip: String?
    /// For the number printed in a record book, which finds the dog; absent where none waits.
    public let find: TextEntry?

    init(_ queue: QueueScreen, _ d: Drawing) {
        waiting = DogGroup("ui.queue.waiting", queue.waiting, none: "ui.queue.empty", d)
        done = DogGroup("ui.queue.done", queue.done, none: nil, d)
        newChip = queue.newChip.map { d.words("ui.queue.new_chip", ["chip": .plain($0)]) }
        find =
            queue.waiting.isEmpty
            ? nil
            : TextEntry(
                prompt: d.words("ui.queue.find"), hint: d.words("ui.queue.find_hint"),
                confirm: d.words("ui.pin.enter"),
                pad: PadState(9...15, secret: false, mayShow: false, d), purpose: .book,
                seen: d.seen)
    }
}

/// What the record book of a dog that is not on the list says, copied once.
public struct NewcomerState: Sendable, Hashable {
    public struct Category: Sendable, Hashable, Identifiable {
        public let id: String
        public let label: String
    }

    public let chip: String
    public let instruction: String
    public let nameLabel: String
    public let bornLabel: String
    public let measuredLabel: String
    public let onLabel: String
    /// Never measured, then the categories.
    public let categories: [Category]
    public let confirm: String
    let seen: Int64

    init(_ newcomer: NewcomerScreen, _ d: Drawing) {
        chip = newcomer.chip
        instruction = d.words("ui.newcomer.from_book")
        nameLabel = d.words("ui.newcomer.name")
        bornLabel = d.words("ui.newcomer.born")
        measuredLabel = d.words("ui.newcomer.measured")
        onLabel = d.words("ui.newcomer.on")
        categories =
            [Category(id: "", label: d.words("ui.newcomer.never"))]
            + newcomer.categories.map { Category(id: $0.id, label: $0.label) }
        confirm = d.words("ui.newcomer.done")
        seen = d.seen
    }

    /// The tap that hands over what was copied. Whether it can be is for the core to say.
    public func tap(name: String, born: String, category: String, measured: String) -> Tap {
        Tap(
            act: .describeNewcomer(
                name: name, born: born, category: category, measured: measured),
            seen: seen)
    }
}

/// Before closing: measured, stopped, expected and not seen.
public struct CloseState: Sendable, Hashable {
    public let groups: [DogGroup]

    init(_ close: CloseScreen, _ d: Drawing) {
        groups = [
            DogGroup("ui.close.measured", close.measured, none: nil, d),
            DogGroup("ui.close.stopped", close.stopped, none: nil, d),
            DogGroup("ui.close.not_seen", close.notSeen, none: nil, d),
        ]
    }
}

/// The return, and where it is.
public struct SentState: Sendable, Hashable {
    public struct Row: Sendable, Hashable {
        public let name: String
        public let chip: String
        public let outcome: String
        /// What is pointed out, under a heading; nothing where nothing is.
        public let flagsHeading: String?
        public let flags: [String]
        public let whereabouts: String
    }

    public let rows: [Row]
    public let said: NoticeState
    /// The file of the return.
    public let file: String

    init(_ sent: ReturnScreen, _ d: Drawing) {
        rows = sent.rows.map {
            Row(
                name: $0.name, chip: $0.chip, outcome: d.words($0.outcome),
                flagsHeading: $0.flags.isEmpty ? nil : d.words("ui.return.flags"),
                flags: d.words($0.flags), whereabouts: d.words($0.whereabouts.key))
        }
        said = d.notice(Mood(sent.tone), d.words(sent.state))
        file = d.words("ui.return.file", ["name": .plain(sent.csvName)])
    }
}

extension ReaderState {
    init(_ badge: ReaderBadge, _ d: Drawing) {
        link = LinkState(badge.link)
        let key =
            switch badge.link {
            case .none: "ui.reader.none"
            case .looking: "ui.reader.looking"
            case .connected: "ui.reader.connected"
            case .lost: "ui.reader.lost"
            }
        text = d.words(key)
        name = badge.name
        wanted = badge.wanted.map {
            WantedReaderState(reader: $0.reader, way: ReaderWay($0.carrier))
        }
        look = badge.look
    }
}

extension Whereabouts {
    var key: String {
        switch self {
        case .onPhone: "ui.where.on_phone"
        case .atOffice: "ui.where.at_office"
        case .inLog: "ui.where.in_log"
        }
    }
}

extension DogState {
    fileprivate var key: String {
        switch self {
        case .waiting: "ui.dog.waiting"
        case .atTable: "ui.dog.at_table"
        case .parked: "ui.dog.parked"
        case .awaiting: "ui.dog.awaiting"
        case .confirmed: "ui.dog.confirmed"
        case .measured: "ui.dog.measured"
        case .notToday: "ui.dog.not_today"
        }
    }
}
