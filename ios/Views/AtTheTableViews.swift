#if canImport(SwiftUI)
import StandsquareModel
import SwiftUI

struct PapersView: View {
    let state: PapersState
    let send: (Tap) -> Void

    var body: some View {
        ForEach(state.lines) { line in
            VStack(alignment: .leading) {
                Text(line.label).bold()
                if let expected = line.expected { Text(expected) }
                ChoicesView(choices: line.choices, send: send)
                if let advice = line.advice { Banner(mood: .care, text: advice) }
            }
        }
        Heading(text: state.findingsHeading)
        ForEach(state.findings, id: \.self) { Text($0) }
    }
}

struct HandlerView: View {
    let state: HandlerState
    let send: (Tap) -> Void

    var body: some View {
        ForEach(state.questions) { question in
            VStack(alignment: .leading) {
                Text(question.text).font(.title3)
                ChoicesView(choices: question.choices, send: send)
                if let caution = question.caution { Banner(mood: .care, text: caution) }
            }
        }
    }
}

struct ChipView: View {
    let state: ChipState
    let send: (Tap) -> Void

    var body: some View {
        Banner(mood: state.said.mood, text: state.said.text)
        Heading(text: state.reads.isEmpty ? "" : state.readsHeading)
        ForEach(state.reads, id: \.self) { read in
            VStack(alignment: .leading) {
                Text(read.number).font(.title3.monospacedDigit())
                Text(read.times).font(.footnote)
                Text(read.proof).font(.footnote)
                ForEach(read.flags, id: \.self) { Banner(mood: .care, text: $0) }
            }
            .accessibilityElement(children: .combine)
        }
        if let compared = state.compared { ComparedView(compared: compared) }
        PointsView(
            heading: state.places.isEmpty ? "" : state.placesHeading, points: state.places)
        if let typed = state.typed { EntryView(entry: typed, send: send) }
    }
}

/// Two numbers one above the other; the places that differ are bold and underlined.
struct ComparedView: View {
    let compared: ChipState.Compared

    var body: some View {
        VStack(alignment: .leading) {
            Text(compared.note).font(.footnote)
            ForEach(compared.rows, id: \.self) { row in
                LabeledContent(row.label) {
                    row.spans.reduce(Text(verbatim: "")) { text, span in
                        text + Text(span.text).bold(span.differs).underline(span.differs)
                    }
                    .font(.title3.monospacedDigit())
                }
            }
        }
    }
}

struct SettleView: View {
    let state: SettleState

    var body: some View {
        Text(state.sinceLabel)
        Text(state.since, style: .timer).font(.largeTitle.monospacedDigit())
        PointsView(heading: state.signsHeading, points: state.signs)
    }
}

struct StanceView: View {
    let state: StanceState

    var body: some View {
        if let again = state.again { Text(again).bold() }
        PointsView(points: state.points)
    }
}

struct PlacingView: View {
    let state: PlacingState

    var body: some View {
        if let by = state.by { Text(by).font(.headline) }
        HoopHeading(hoop: state.hoop)
        Text(state.progress).font(.title3)
        ForEach(state.placings) { placing in
            HStack {
                Text(placing.label).strikethrough(!placing.counts)
                Spacer()
                Text(placing.seen)
            }
            .accessibilityElement(children: .combine)
        }
    }
}
#endif
