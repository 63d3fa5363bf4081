import Foundation
import StandsquareCore

/// Who practises, or looks at their own figures.
public struct PracticeState: Sendable, Hashable {
    public let instruction: String
    public let people: [ChoiceState]

    init(_ practice: PracticeScreen, _ d: Drawing) {
        instruction = d.words("ui.practice.who")
        people = practice.people.map { ChoiceState($0, d) }
    }
}

/// One person's own figures.
public struct OwnState: Sendable, Hashable {
    public let name: String
    /// That there is nothing yet.
    public let empty: String?
    public let figures: [String]
    public let charts: [ChartState]

    init(_ own: OwnScreen, _ d: Drawing) {
        name = own.name
        empty = d.words(own.empty)
        figures = d.words(own.figures)
        charts = own.charts.map { ChartState($0, d) }
    }
}

/// A control chart, as parts of its height and width: 0 below and at the left, 1 above and at the
/// right.
public struct ChartState: Sendable, Hashable, Identifiable {
    public struct Point: Sendable, Hashable {
        public let across: Double
        public let value: Double
        public let low: Double
        public let high: Double
        public let outside: Bool
    }

    public let id: String
    public let title: String
    public let said: String
    public let top: String
    public let bottom: String
    public let middle: Double
    public let points: [Point]
    /// Which points lie outside, in words; instead of them, why there are none.
    public let verdict: String

    init(_ chart: Chart, _ d: Drawing) {
        id = chart.id
        title = d.words(chart.title)
        said = d.words(chart.said)
        top = d.words(chart.top)
        bottom = d.words(chart.bottom)
        let span = Double(max(chart.to - chart.from, 1))
        let place = { (value: Int32) in Double(value - chart.from) / span }
        middle = place(chart.middle)
        let last = Double(max(chart.points.count - 1, 1))
        points = chart.points.enumerated().map { n, p in
            Point(
                across: Double(n) / last, value: place(p.value), low: place(p.low),
                high: place(p.high), outside: p.outside)
        }
        let out = chart.points.filter(\.outside).map { d.words.day($0.day) }
        verdict =
            d.words(chart.silence)
            ?? (out.isEmpty
                ? d.words("ui.own.inside")
                : d.words("ui.own.outside", ["days": .plain(out.joined(separator: ", "))]))
    }
}

/// One placing of a drill: the trainer sets the model, and the other places the hoop.
public struct DrillState: Sendable, Hashable {
    public let number: String
    public let setTo: String
    public let hidden: String
    public let by: String

    init(_ drill: DrillScreen, _ d: Drawing) {
        number = d.words(
            "ui.drill.number", ["number": .count(drill.number), "of": .count(drill.of)])
        setTo = d.words(
            "ui.drill.set", ["height": .plain("\(d.words.centimetres(um: drill.setToUm)) cm")])
        hidden = d.words("ui.drill.hidden", ["name": .plain(drill.name)])
        by = d.words("ui.drill.by", ["name": .plain(drill.name), "hoop": .plain(drill.hoop)])
    }
}

/// How a drill went, and who signs the record of it.
public struct FeedbackState: Sendable, Hashable {
    public let name: String
    public let right: String
    public let lines: [String]
    public let whoSigns: String
    public let seats: [SeatState]

    init(_ feedback: FeedbackScreen, _ d: Drawing) {
        name = feedback.name
        right = d.words(feedback.right)
        lines = feedback.lines.map { line in
            let seen =
                switch line.seen {
                case .baseFlat: d.words("ui.placing.flat")
                case .baseNotFlat: d.words("ui.placing.not_flat")
                case .dogMoved: d.words("ui.placing.moved")
                }
            let was =
                switch line.right {
                case .some(true): d.words("ui.feedback.right")
                case .some(false): d.words("ui.feedback.wrong")
                case .none: d.words("ui.feedback.void")
                }
            return "\(line.number). \(d.words.centimetres(um: line.heightUm)) cm: \(seen), \(was)"
        }
        whoSigns = d.words(feedback.whoSigns)
        seats = feedback.seats.map {
            SeatState(
                $0, least: feedback.minDigits, most: feedback.maxDigits, purpose: .practice, d)
        }
    }
}

/// What a trainee would have found: nothing here tells what the measurers found.
public struct ShadowState: Sendable, Hashable {
    public let question: String
    public let categories: [ChoiceState]
    public let unseen: String

    init(_ shadow: ShadowScreen, _ d: Drawing) {
        question = d.words("ui.shadow.ask", ["name": .plain(shadow.name)])
        categories = shadow.categories.map { ChoiceState($0, d) }
        unseen = d.words("ui.shadow.unseen")
    }
}

extension ChoiceState {
    fileprivate init(_ choice: StopChoice, _ d: Drawing) {
        self.init(id: choice.id, label: d.words(choice.label), chosen: false, tap: d.tap(choice.act))
    }
}
