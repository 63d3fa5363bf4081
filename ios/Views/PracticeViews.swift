#if canImport(SwiftUI)
import StandsquareModel
import SwiftUI

struct PracticeView: View {
    let state: PracticeState
    let send: (Tap) -> Void

    var body: some View {
        Text(state.instruction)
        ChoicesView(choices: state.people, send: send)
    }
}

struct ShadowView: View {
    let state: ShadowState
    let send: (Tap) -> Void

    var body: some View {
        Text(state.question).font(.title3).bold()
        ChoicesView(choices: state.categories, send: send)
        Text(state.unseen)
    }
}

struct DrillView: View {
    let state: DrillState

    var body: some View {
        Text(state.number).font(.title3).bold()
        CardView {
            Text(state.setTo).font(.title).bold()
            Text(state.hidden)
        }
        Text(state.by).bold()
    }
}

struct FeedbackView: View {
    let state: FeedbackState
    let send: (Tap) -> Void

    var body: some View {
        Text(state.name).font(.title3).bold()
        CardView { Text(state.right).font(.title).bold() }
        PointsView(points: state.lines)
        Text(state.whoSigns)
        SeatsView(seats: state.seats, send: send)
    }
}

struct OwnView: View {
    let state: OwnState

    var body: some View {
        Text(state.name).font(.title3).bold()
        if let empty = state.empty { Text(empty) }
        if !state.figures.isEmpty { PointsView(points: state.figures) }
        ForEach(state.charts) { ChartView(chart: $0) }
    }
}

/// A control chart: what it shows in words, and the drawing where there is enough of it.
struct ChartView: View {
    let chart: ChartState
    @Environment(\.palette) private var palette

    var body: some View {
        CardView {
            Text(chart.title).bold()
            Text(chart.said)
            if !chart.points.isEmpty {
                Text(chart.top).font(.footnote)
                drawing
                Text(chart.bottom).font(.footnote)
            }
            Text(chart.verdict)
        }
    }

    private var drawing: some View {
        let ink = Color(rgb: palette.card.ink)
        let dashes = StrokeStyle(lineWidth: 2, dash: [6, 5])
        return ZStack {
            Plotted(points: [(0, chart.middle), (1, chart.middle)]).stroke(ink, lineWidth: 1)
            Plotted(points: chart.points.map { ($0.across, $0.low) }).stroke(ink, style: dashes)
            Plotted(points: chart.points.map { ($0.across, $0.high) }).stroke(ink, style: dashes)
            Plotted(points: chart.points.map { ($0.across, $0.value) }).stroke(ink, lineWidth: 3)
            // Outside: a box about it, not only another colour.
            ForEach(chart.points.filter(\.outside), id: \.self) { point in
                Box(across: point.across, value: point.value).stroke(ink, lineWidth: 3)
            }
        }
        .aspectRatio(2, contentMode: .fit)
        .accessibilityElement(children: .ignore)
        .accessibilityLabel(chart.verdict)
    }
}

/// A line through points that are parts of the width and height.
private struct Plotted: Shape {
    let points: [(Double, Double)]

    nonisolated func path(in rect: CGRect) -> Path {
        Path { path in
            path.addLines(
                points.map {
                    CGPoint(x: rect.width * CGFloat($0.0), y: rect.height * CGFloat(1 - $0.1))
                })
        }
    }
}

/// A box about a point.
private struct Box: Shape {
    let across: Double
    let value: Double

    nonisolated func path(in rect: CGRect) -> Path {
        let (x, y) = (rect.width * CGFloat(across), rect.height * CGFloat(1 - value))
        let corners: [(CGFloat, CGFloat)] = [(-6, -6), (6, -6), (6, 6), (-6, 6), (-6, -6)]
        return Path { path in
            path.addLines(corners.map { CGPoint(x: x + $0.0, y: y + $0.1) })
        }
    }
}
#endif
