import Foundation
import StandsquareCore

/// What it comes to, and two signatures.
public struct SignState: Sendable, Hashable {
    public struct Why: Sendable, Hashable {
        public let text: String
        /// The clause's path in the rule pack.
        public let clause: String
    }

    public struct Seat: Sendable, Hashable, Identifiable {
        public let id: String
        public let number: String
        /// Asks for the signature, or says that it is there.
        public let label: String
        /// Wrong PINs that are still allowed, in words.
        public let tries: String?
        /// Where to sign; absent once signed.
        public let entry: PinEntry?
    }

    public let outcome: String
    public let height: String?
    public let statementHeading: String
    /// Exactly what is signed.
    public let statement: [PairState]
    public let reasonsHeading: String
    public let reasons: [Why]
    public let seats: [Seat]

    init(_ sign: SignScreen, _ d: Drawing) {
        outcome = d.words(sign.outcome)
        height = d.words(sign.height)
        statementHeading = d.words("ui.sign.statement")
        statement = sign.statement.map { PairState($0, d) }
        reasonsHeading = d.words("ui.sign.reasons")
        reasons = sign.reasons.map { Why(text: d.words($0.text), clause: $0.clause) }
        seats = sign.seats.map { seat in
            let name: KeyValuePairs<String, ArgValue> = ["name": .plain(seat.name)]
            return Seat(
                id: seat.person, number: seat.number,
                label: d.words(seat.signed ? "ui.sign.signed" : "ui.sign.as", name),
                tries: seat.signed
                    ? nil : d.words("ui.sign.tries", ["count": .count(seat.triesLeft)]),
                entry: seat.signed
                    ? nil
                    : PinEntry(
                        person: seat.person, prompt: d.words("ui.sign.pin_of", name),
                        confirm: d.words("ui.pin.enter"),
                        digits: Int(sign.minDigits)...Int(sign.maxDigits), purpose: .sign,
                        seen: d.seen))
        }
    }
}

/// The line for the record book.
public struct BookLineState: Sendable, Hashable {
    public let instruction: String
    /// To copy, cell by cell.
    public let cells: [PairState]

    init(_ line: BookLineScreen, _ d: Drawing) {
        instruction = d.words("ui.book_line.copy")
        cells = line.line.map { PairState($0, d) }
    }
}

/// Tell the handler.
public struct TellState: Sendable, Hashable {
    public let instruction: String
    /// In order.
    public let lines: [String]

    init(_ tell: TellScreen, _ d: Drawing) {
        instruction = d.words("ui.tell.say")
        lines = d.words(tell.lines)
    }
}
