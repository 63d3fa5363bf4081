import Foundation
import StandsquareCore

/// The record book.
public struct PapersState: Sendable, Hashable {
    public struct Line: Sendable, Hashable, Identifiable {
        public let id: String
        public let label: String
        /// What the book should say; a question where nobody knows.
        public let expected: String
        /// What the button that opens the choices is called, on the glass and aloud.
        public let notSo: String
        public let notSoAloud: String
        /// Whether the choices are open: something was found wrong.
        public let open: Bool
        public let agrees: Bool
        /// Agrees, differs, missing.
        public let choices: [ChoiceState]
        public let advice: NoticeState?
    }

    public let lines: [Line]
    public let findingsHeading: String
    public let findings: [String]

    init(_ papers: PapersScreen, _ d: Drawing) {
        lines = papers.items.map { item in
            let label = d.words(item.label)
            return Line(
                id: item.id, label: label,
                expected: d.words(item.expected) ?? d.words("ui.papers.there"),
                notSo: d.words("ui.papers.not_so"),
                notSoAloud: d.words("ui.papers.choose", ["line": .plain(label)]),
                open: item.state == .differs || item.state == .missing,
                agrees: item.state == .agrees,
                choices: BookState.answers.map { state, name, key in
                    ChoiceState(
                        id: "\(item.id).\(name)", label: d.words(key),
                        chosen: item.state == state,
                        tap: d.tap(.bookLine(item: item.id, state: state)))
                },
                advice: d.notice(.care, item.advice))
        }
        findingsHeading = d.words("ui.papers.findings")
        findings = d.words(papers.findings)
    }
}

extension BookState {
    /// What can be said of a line of the book, with a name and its words' key.
    fileprivate static let answers: [(BookState, String, String)] = [
        (.agrees, "agrees", "ui.papers.agrees"), (.differs, "differs", "ui.papers.differs"),
        (.missing, "missing", "ui.papers.missing"),
    ]
}

/// The handler's answers.
public struct HandlerState: Sendable, Hashable {
    public struct Asked: Sendable, Hashable, Identifiable {
        public let id: String
        public let text: String
        /// No, yes.
        public let choices: [ChoiceState]
        public let caution: NoticeState?
    }

    public let questions: [Asked]

    init(_ handler: HandlerScreen, _ d: Drawing) {
        questions = handler.questions.map { question in
            Asked(
                id: question.id, text: d.words(question.text),
                choices: [(false, "no", "ui.answer.no"), (true, "yes", "ui.answer.yes")].map {
                    yes, name, key in
                    ChoiceState(
                        id: "\(question.id).\(name)", label: d.words(key),
                        chosen: question.answer == yes,
                        tap: d.tap(.handlerAnswer(question: question.id, yes: yes)))
                },
                caution: d.notice(.care, question.caution))
        }
    }
}

/// The chip.
public struct ChipState: Sendable, Hashable {
    public struct Read: Sendable, Hashable {
        public let number: String
        public let times: String
        public let proof: String
        public let flags: [NoticeState]
    }

    /// One of two numbers, in pieces: those in which it differs from the other are marked.
    public struct Row: Sendable, Hashable {
        public struct Span: Sendable, Hashable {
            public let text: String
            public let differs: Bool
        }

        public let label: String
        public let spans: [Span]

        init(_ key: String, _ number: String, differsAt: [UInt32], _ d: Drawing) {
            label = d.words(key)
            spans = number.enumerated().map { place, character in
                Span(
                    text: String(character), differs: differsAt.contains { Int($0) == place })
            }
        }
    }

    /// Two numbers one above the other.
    public struct Compared: Sendable, Hashable {
        public let note: String
        public let rows: [Row]
    }

    public let said: NoticeState
    public let readsHeading: String
    public let reads: [Read]
    public let compared: Compared?
    public let placesHeading: String
    /// Where to scan.
    public let places: [String]
    /// For a number read off the reader's own display; absent where none may be typed.
    public let typed: TextEntry?

    init(_ chip: ChipScreen, _ d: Drawing) {
        said = d.notice(Mood(chip.tone), d.words(chip.state))
        reads = chip.reads.map {
            Read(
                number: $0.number, times: d.words("ui.chip.times", ["count": .count($0.count)]),
                proof: d.words($0.proof),
                flags: d.words($0.flags).map { d.notice(.care, $0) })
        }
        readsHeading = d.words("ui.chip.reads")
        compared = chip.compare.map {
            Compared(
                note: d.words("ui.chip.differs_at"),
                rows: [
                    Row("ui.chip.in_book", $0.book, differsAt: $0.differsAt, d),
                    Row("ui.chip.read", $0.read, differsAt: $0.differsAt, d),
                ])
        }
        placesHeading = d.words("ui.chip.places")
        places = d.words(chip.places)
        typed =
            chip.mayType
            ? TextEntry(
                prompt: d.words("ui.chip.type"), hint: d.words("ui.chip.type_hint"),
                confirm: d.words("ui.pin.enter"),
                // As long as what a reader shows: older numbers have 9 or 10 digits. Whether it
                // is a chip number is for the core to say.
                pad: PadState(9...15, secret: false, mayShow: false, d), purpose: .chip,
                seen: d.seen) : nil
    }
}

/// Let it settle.
public struct SettleState: Sendable, Hashable {
    public let sinceLabel: String
    /// When the dog came to the surface.
    public let since: Date
    public let signsHeading: String
    public let signs: [String]

    init(_ settle: SettleScreen, _ d: Drawing) {
        sinceLabel = d.words("ui.settle.on_surface")
        since = Date(timeIntervalSince1970: Double(settle.sinceMs) / 1000)
        signsHeading = d.words("ui.settle.watch")
        signs = d.words(settle.signs)
    }
}

/// Stand it square.
public struct StanceState: Sendable, Hashable {
    /// What to do after a placing that was not flat or did not count.
    public let again: NoticeState?
    /// What the drawing shows, for who does not see it.
    public let drawing: String
    public let points: [String]

    init(_ stance: StanceScreen, _ d: Drawing) {
        again = stance.again ? d.notice(.care, d.words("ui.stance.again")) : nil
        drawing = d.words("ui.withers.drawing")
        points = d.words(stance.points)
    }
}

/// Lower the hoop.
public struct PlacingState: Sendable, Hashable {
    public struct Line: Sendable, Hashable, Identifiable {
        public var id: Int { number }
        public let number: Int
        public let label: String
        public let seen: String
        public let counts: Bool
    }

    /// Who lowers it, where each measurer makes their own placings.
    public let by: String?
    /// The hoop in hand.
    public let hoop: String
    /// Its inside height, with the unit.
    public let size: String
    /// What the drawing shows, for who does not see it; there while nothing was placed.
    public let drawing: String?
    /// How far it has come.
    public let progress: String
    public let placings: [Line]
    /// What a clicker's two keys say now.
    public let keys: String?

    init(_ placing: PlacingScreen, _ d: Drawing) {
        keys = placing.keys.map { d.words($0) }
        by = placing.by.map { d.words("ui.placing.by", ["name": .plain($0)]) }
        hoop = d.words(
            "ui.placing.hoop",
            ["hoop": .plain(placing.hoop.label), "serial": .plain(placing.hoop.serial)])
        size = "\(d.words.centimetres(um: placing.hoop.nominalUm)) cm"
        drawing = placing.placings.isEmpty ? d.words("ui.stance.drawing") : nil
        placings = placing.placings.map {
            Line(
                number: Int($0.number), label: "\($0.number). \($0.hoop)", seen: d.words($0.seen.key),
                counts: $0.counts)
        }
        progress = d.words(
            placing.valid == 0 ? "ui.placing.first" : "ui.placing.valid",
            ["valid": .count(placing.valid), "needed": .count(placing.needed)])
    }
}

extension PlacingSeen {
    fileprivate var key: String {
        switch self {
        case .baseFlat: "ui.placing.flat"
        case .baseNotFlat: "ui.placing.not_flat"
        case .dogMoved: "ui.placing.moved"
        }
    }
}

/// Why stop.
public struct StopState: Sendable, Hashable {
    public let reasons: [ChoiceState]

    init(_ stop: StopScreen, _ d: Drawing) {
        reasons = stop.reasons.map {
            ChoiceState(id: $0.id, label: d.words($0.label), chosen: false, tap: d.tap($0.act))
        }
    }
}
