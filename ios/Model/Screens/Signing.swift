import Foundation
import StandsquareCore

/// What it comes to, and two signatures.
public struct SignState: Sendable, Hashable {
    public struct Why: Sendable, Hashable {
        public let text: String
        /// The clause's path in the rule pack.
        public let clause: String
    }

    public let outcome: String
    public let height: String?
    public let statementHeading: String
    /// Exactly what is signed.
    public let statement: [PairState]
    public let reasonsHeading: String
    public let reasons: [Why]
    public let seats: [SeatState]

    init(_ sign: SignScreen, _ d: Drawing) {
        outcome = d.words(sign.outcome)
        height = d.words(sign.height)
        statementHeading = d.words("ui.sign.statement")
        statement = sign.statement.map { PairState($0, d) }
        reasonsHeading = d.words("ui.sign.reasons")
        reasons = sign.reasons.map { Why(text: d.words($0.text), clause: $0.clause) }
        seats = sign.seats.map { SeatState($0, least: sign.minDigits, most: sign.maxDigits, d) }
    }
}

/// Asks for the phone's biometrics.
public struct OwnerButton: Sendable, Hashable {
    public let label: String
    public let tap: Tap
}

/// A measurer's place at a signature.
public struct SeatState: Sendable, Hashable, Identifiable {
    public let id: String
    public let number: String
    /// Asks for the signature, or says that it is there.
    public let label: String
    /// Signed on paper so far, in words.
    public let onPaper: String?
    /// Wrong PINs that are still allowed, in words; absent where no PIN would do.
    public let tries: String?
    /// Why they cannot sign here, and what to do, where the office says so of their key.
    public let whyNot: String?
    /// Where the PIN goes in; absent once it is done, where a tap will do, and where only
    /// paper is left.
    public let entry: PinEntry?
    /// What the button says and does that asks for the phone's biometrics in place of the PIN,
    /// where they open this key.
    public let byOwner: OwnerButton?
    /// Confirms what is shown, where the person's key is open.
    public let confirm: Tap?
    /// Where the number of a signed paper goes in, where they cannot sign here.
    public let paper: TextEntry?

    /// The most digits that a paper's number has here, as on Android.
    private static let paperDigits = 8

    init(
        _ seat: SignSeat, least: UInt32, most: UInt32, purpose: PinEntry.Purpose = .sign,
        _ d: Drawing
    ) {
        let name: KeyValuePairs<String, ArgValue> = ["name": .plain(seat.name)]
        id = seat.person
        number = seat.number
        label = d.words(seat.signed ? seat.asks.done : seat.asks.asked, name)
        onPaper = seat.paper.map {
            d.words("ui.sign.on_paper", ["name": .plain(seat.name), "paper": .plain($0)])
        }
        whyNot = d.words(seat.whyNot)
        tries = seat.triesLeft.map { d.words("ui.sign.tries", ["count": .count($0)]) }
        entry =
            seat.way != .pin
            ? nil
            : PinEntry(
                person: seat.person, prompt: d.words("ui.sign.pin_of", name),
                pad: PadState(Int(least)...Int(most), secret: true, mayShow: false, d),
                purpose: seat.asks == .unlock ? .unlock : purpose, seen: d.seen)
        byOwner = seat.byOwner.map {
            OwnerButton(label: d.words("ui.sign.by_owner"), tap: d.tap($0))
        }
        confirm = seat.way == .tap ? d.tap(.confirm(person: seat.person)) : nil
        paper =
            seat.way == .paper
            ? TextEntry(
                prompt: d.words("ui.sign.paper", name), hint: d.words("ui.sign.paper_of", name),
                confirm: d.words("ui.pin.enter"),
                pad: PadState(1...SeatState.paperDigits, secret: false, mayShow: false, d),
                purpose: .paper(person: seat.person), seen: d.seen)
            : nil
    }
}

extension SeatAsks {
    fileprivate var asked: String {
        switch self {
        case .sign: "ui.sign.as"
        case .unlock: "ui.sign.unlock"
        case .confirm: "ui.sign.confirm"
        }
    }

    fileprivate var done: String {
        switch self {
        case .sign: "ui.sign.signed"
        case .unlock: "ui.sign.unlocked"
        case .confirm: "ui.sign.confirmed"
        }
    }
}

/// Where a session is signed once: each measurer's PIN, for the dogs that follow.
public struct UnlockState: Sendable, Hashable {
    public let why: String
    public let seats: [SeatState]

    init(_ unlock: UnlockScreen, _ d: Drawing) {
        why = d.words(unlock.why)
        seats = unlock.seats.map {
            SeatState($0, least: unlock.minDigits, most: unlock.maxDigits, d)
        }
    }
}

/// The list that is signed at the close.
public struct SignListState: Sendable, Hashable {
    public let statementHeading: String
    /// Exactly what is signed, a line a dog.
    public let statement: [PairState]
    public let seats: [SeatState]

    init(_ list: SignListScreen, _ d: Drawing) {
        statementHeading = d.words("ui.sign.statement")
        statement = list.statement.map { PairState($0, d) }
        seats = list.seats.map {
            SeatState($0, least: list.minDigits, most: list.maxDigits, d)
        }
    }
}

/// Something is put right: what, then why, then all sign.
public struct CorrectState: Sendable, Hashable {
    /// What to do, where nothing is chosen or signed.
    public let instruction: String?
    public let choices: [ChoiceState]
    public let statementHeading: String
    /// Exactly what is signed; empty before.
    public let statement: [PairState]
    public let seats: [SeatState]

    init(_ correct: CorrectScreen, _ d: Drawing) {
        instruction = d.words(correct.instruction)
        choices = correct.choices.map {
            ChoiceState(id: $0.id, label: d.words($0.label), chosen: false, tap: d.tap($0.act))
        }
        statementHeading = d.words("ui.sign.statement")
        statement = correct.statement.map { PairState($0, d) }
        seats = correct.seats.map {
            SeatState($0, least: correct.minDigits, most: correct.maxDigits, d)
        }
    }
}

/// The phone goes to the next measurer, and nothing that was found goes with it.
public struct HandOverState: Sendable, Hashable {
    public let instruction: String
    /// What stays hidden, and until when.
    public let unseen: String

    init(_ next: HandOverScreen, _ d: Drawing) {
        instruction = d.words("ui.hand_over.to", ["name": .plain(next.name)])
        unseen = d.words("ui.hand_over.unseen", ["name": .plain(next.name)])
    }
}

/// The line for the record book.
public struct BookLineState: Sendable, Hashable {
    public let instruction: String
    /// To copy, cell by cell.
    public let cells: [PairState]
    /// How sure the category is, where the rules show it.
    public let howSure: String?
    /// What trainees who watched would have found.
    public let shadowed: [String]

    init(_ line: BookLineScreen, _ d: Drawing) {
        instruction = d.words("ui.book_line.copy")
        cells = line.line.map { PairState($0, d) }
        howSure = line.howSure.map { d.words($0) }
        shadowed = d.words(line.shadowed)
    }
}

/// Tell the handler.
public struct TellState: Sendable, Hashable {
    public let instruction: String
    /// In order.
    public let lines: [String]
    /// How sure the category is, where the rules show it.
    public let howSure: String?

    init(_ tell: TellScreen, _ d: Drawing) {
        instruction = d.words("ui.tell.say")
        lines = d.words(tell.lines)
        howSure = tell.howSure.map { d.words($0) }
    }
}
