#if canImport(SwiftUI)
import StandsquareModel
import SwiftUI

struct PapersView: View {
    let state: PapersState
    let send: (Tap) -> Void

    var body: some View {
        if !state.findings.isEmpty {
            CardView {
                Heading(text: state.findingsHeading)
                ForEach(state.findings, id: \.self) { Text($0).bold() }
            }
        }
        ForEach(state.lines) { BookLineChoice(line: $0, send: send) }
    }
}

/// A line of the record book: what it should say, and, once opened, what was found instead.
struct BookLineChoice: View {
    let line: PapersState.Line
    let send: (Tap) -> Void
    @State private var opened = false
    @Environment(\.palette) private var palette

    var body: some View {
        CardView {
            HStack {
                VStack(alignment: .leading) {
                    Text(line.label).font(.footnote)
                    Text(line.expected).font(.title3.monospacedDigit()).bold()
                }
                .accessibilityElement(children: .combine)
                Spacer()
                if line.agrees { Image(systemName: "checkmark") }
                if !opened && !line.open {
                    Button(line.notSo) { opened = true }
                        .buttonStyle(TouchStyle(pair: palette.page, height: Height.touch))
                        .accessibilityLabel(line.notSoAloud)
                        .accessibilityIdentifier("open.\(line.id)")
                }
            }
            if opened || line.open {
                ChoicesView(choices: line.choices) { tap in
                    opened = false
                    send(tap)
                }
            }
            if let advice = line.advice { Banner(notice: advice) }
        }
    }
}

struct HandlerView: View {
    let state: HandlerState
    let send: (Tap) -> Void

    var body: some View {
        ForEach(state.questions) { question in
            CardView {
                Text(question.text).font(.title3)
                ChoicesView(choices: question.choices, send: send)
                if let caution = question.caution { Banner(notice: caution) }
            }
        }
    }
}

struct ChipView: View {
    let state: ChipState
    let send: (Tap) -> Void

    var body: some View {
        Banner(notice: state.said)
        Heading(text: state.reads.isEmpty ? "" : state.readsHeading)
        ForEach(state.reads, id: \.self) { read in
            VStack(alignment: .leading) {
                Text(read.number).font(.title3.monospacedDigit())
                Text(read.times).font(.footnote)
                Text(read.proof).font(.footnote)
                ForEach(read.flags, id: \.self) { Banner(notice: $0) }
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
        if let again = state.again { Banner(notice: again) }
        CardView { DogDrawing(hoop: false, said: state.drawing) }
        PointsView(points: state.points)
    }
}

struct PlacingView: View {
    let state: PlacingState

    var body: some View {
        if let by = state.by { Text(by).font(.headline) }
        CardView {
            Text(state.hoop).font(.title3).bold()
            Text(state.size).font(.largeTitle).bold()
            if let drawing = state.drawing { DogDrawing(hoop: true, said: drawing) }
            Text(state.progress).bold()
            if let keys = state.keys { Text(keys).font(.footnote) }
        }
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
