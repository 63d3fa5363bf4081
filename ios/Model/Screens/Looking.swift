import Foundation
import StandsquareCore

/// A QR code: always drawn dark on light, with four modules of light round it.
public struct CodeState: Sendable, Hashable {
    /// Modules a side.
    public let side: Int
    /// Row by row; 1 is dark.
    public let modules: Data
    /// What it is, for who does not see it.
    public let said: String

    init(_ code: QrMatrix, said: String) {
        side = Int(code.side)
        modules = code.modules
        self.said = said
    }

    /// Whether the module in this column and row is dark.
    public func isDark(_ x: Int, _ y: Int) -> Bool {
        modules[modules.startIndex + y * side + x] == 1
    }
}

/// The handler's slip: the code to photograph, its line, and why.
public struct SlipState: Sendable, Hashable {
    public let instruction: String
    public let code: CodeState
    public let line: [PairState]
    public let reasonsHeading: String
    public let reasons: [String]

    init(_ slip: SlipScreen, _ d: Drawing) {
        instruction = d.words("ui.slip.photograph")
        code = CodeState(slip.code, said: d.words("ui.slip.code"))
        line = slip.line.map { PairState($0, d) }
        reasonsHeading = slip.reasons.isEmpty ? "" : d.words("ui.slip.why")
        reasons = d.words(slip.reasons)
    }
}

/// Whose is this slip, and is it genuine.
public struct SlipCheckState: Sendable, Hashable {
    /// What to do; nothing once there is an answer.
    public let instruction: String?
    public let answer: NoticeState?
    /// What it says, if it is genuine.
    public let says: [PairState]
    /// For the text of its code.
    public let entry: TextEntry
    /// For its code itself.
    public let camera: CameraState

    init(_ check: SlipCheckScreen, _ d: Drawing) {
        instruction = check.answer == nil ? d.words("ui.slip.how_to_check") : nil
        answer = d.notice(Mood(check.tone), check.answer)
        says = check.says.map { PairState($0, d) }
        entry = TextEntry(
            prompt: d.words("ui.slip.text"), hint: d.words("ui.slip.text"),
            confirm: d.words("ui.slip.check"), pad: nil, purpose: .slip, seen: d.seen)
        camera = CameraState(check, entry, d)
    }
}

/// Codes for another phone's camera; which one is shown is for the core to say, by the time.
public struct CodesState: Sendable, Hashable {
    public let code: CodeState
    /// Which of how many; nothing where there is one.
    public let which: String?
    public let how: String
    public let says: [PairState]

    init(_ codes: CodesScreen, _ d: Drawing) {
        code = CodeState(codes.code, said: d.words("ui.codes.alt"))
        let which = d.words(
            "ui.codes.of",
            ["number": .plain(String(codes.number)), "count": .plain(String(codes.count))])
        self.which = codes.count > 1 ? which : nil
        how = d.words(codes.how)
        says = codes.says.map { PairState($0, d) }
    }
}

/// The dog in hand was measured at another table.
public struct HeardState: Sendable, Hashable {
    public let known: String
    public let came: String
    public let rules: String

    init(_ heard: HeardScreen, _ d: Drawing) {
        known = d.words(heard.known)
        came = d.words(heard.came)
        rules = d.words(heard.rules)
    }
}

/// Lines to read under headings; some lead further.
public struct PageState: Sendable, Hashable {
    public struct Line: Sendable, Hashable, Identifiable {
        public let id: String
        public let heading: String
        public let notes: [String]
        /// Where its record is, where there is one.
        public let whereabouts: String?
        /// Shows more; absent where there is none.
        public let open: Tap?
        /// What that is called, for who cannot see the list.
        public let openLabel: String
    }

    public struct Section: Sendable, Hashable {
        public let heading: String
        /// Said where there are no lines.
        public let none: String?
        public let lines: [Line]
    }

    public let sections: [Section]

    init(_ page: PageScreen, _ d: Drawing) {
        sections = page.sections.map { section in
            Section(
                heading: d.words(section.heading), none: d.words(section.none),
                lines: section.lines.map { Line($0, d) })
        }
    }
}

extension PageState.Line {
    init(_ line: PageLine, _ d: Drawing) {
        id = line.id
        heading = d.words(line.heading)
        notes = d.words(line.notes)
        whereabouts = line.whereabouts.map { d.words($0.key) }
        open = line.open.map { d.tap($0) }
        openLabel = d.words("ui.page.open", ["what": .plain(heading)])
    }
}

/// Somebody was bitten or fell: one tap records it, with the words typed before, if any.
public struct IncidentState: Sendable, Hashable {
    public struct Choice: Sendable, Hashable, Identifiable {
        public let id: String
        public let label: String
        let act: Act
        let seen: Int64

        /// The tap that records it, with these words.
        public func tap(words: String) -> Tap {
            guard case .recordIncident(let what, let whom, _) = act else {
                return Tap(act: act, seen: seen)
            }
            return Tap(act: .recordIncident(what: what, whom: whom, words: words), seen: seen)
        }
    }

    public let choices: [Choice]
    public let wordsLabel: String
    public let noNames: String

    init(_ incident: IncidentScreen, _ d: Drawing) {
        choices = incident.happened.map {
            Choice(id: $0.id, label: d.words($0.label), act: $0.act, seen: d.seen)
        }
        wordsLabel = d.words("ui.incident.words")
        noNames = d.words("ui.incident.no_names")
    }
}

/// The handler objects: their words, if they wish, and one tap that notes it.
public struct ObjectionState: Sendable, Hashable {
    public let about: String
    public let wordsLabel: String
    public let record: String
    public let nextHeading: String
    /// What becomes of it.
    public let next: [String]
    public let beforeHeading: String
    /// What was noted before.
    public let before: [String]
    /// Most characters.
    public let most: Int
    let act: Act
    let seen: Int64

    init(_ objection: ObjectionScreen, _ d: Drawing) {
        about = d.words(objection.about)
        wordsLabel = d.words("ui.objection.words")
        record = d.words("ui.objection.record")
        nextHeading = d.words("ui.objection.next")
        next = d.words(objection.next)
        beforeHeading = d.words("ui.objection.before")
        before = d.words(objection.before)
        most = Int(objection.most)
        act = objection.record
        seen = d.seen
    }

    /// The tap that notes it, in these words.
    public func tap(words: String) -> Tap {
        guard case .recordObjection(let dog, _) = act else { return Tap(act: act, seen: seen) }
        return Tap(
            act: .recordObjection(dog: dog, words: String(words.prefix(most))), seen: seen)
    }
}

extension Screen {
    /// An offer of this screen with the platform's own words in its act.
    func worded(_ offer: Offer, _ d: Drawing) -> Offer {
        guard case .slip(let slip) = self, case .calendarEntry(let dog, _) = offer.act,
            let said = slip.calendar
        else { return offer }
        var worded = offer
        worded.act = .calendarEntry(dog: dog, summary: d.words(said))
        return worded
    }
}
