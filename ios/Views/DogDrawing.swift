#if canImport(SwiftUI)
import StandsquareModel
import SwiftUI

/// A dog standing square, from its right side: the same drawing as on Android. With the hoop, it
/// stands over the withers; without it, the withers are marked and how high they are.
struct DogDrawing: View {
    let hoop: Bool
    /// What it shows, for who does not see it.
    let said: String
    @Environment(\.palette) private var palette

    var body: some View {
        ZStack {
            Drawn(line: lines([(14, 222), (326, 222)])).stroke(Color(rgb: palette.line), lineWidth: 3)
            if hoop {
                Drawn(line: lines([(222, 212), (222, 66)])).stroke(ink, lineWidth: 7)
            }
            Drawn(line: farLegs).fill(Color(rgb: palette.dog)).opacity(0.62)
            Drawn(line: outline).fill(Color(rgb: palette.dog))
            if hoop {
                // With an edge of the card's colour: against the dog alone it would not stand out.
                Drawn(line: nearSide).stroke(Color(rgb: palette.card.ground), lineWidth: 12)
                Drawn(line: nearSide).stroke(ink, lineWidth: 7)
            } else {
                Drawn(line: lines([(20, 85), (195, 85)]))
                    .stroke(ink, style: StrokeStyle(lineWidth: 3, dash: [7, 6]))
                Drawn(line: lines([(203, 28), (203, 66)])).stroke(ink, lineWidth: 4)
                Drawn(line: lines([(195, 56), (203, 68), (211, 56)])).stroke(ink, lineWidth: 4)
                Drawn(line: lines([(28, 89), (28, 218)])).stroke(ink, lineWidth: 3)
            }
        }
        .aspectRatio(wide / high, contentMode: .fit)
        .accessibilityElement(children: .ignore)
        .accessibilityLabel(said)
    }

    private var ink: Color { Color(rgb: palette.hoop) }

    private var nearSide: Path { lines([(192, 232), (192, 80), (222, 66)]) }
}

/// A line of the drawing, made to fit where it is drawn.
private struct Drawn: Shape {
    let line: Path

    nonisolated func path(in rect: CGRect) -> Path {
        line.applying(CGAffineTransform(scaleX: rect.width / wide, y: rect.height / high))
    }
}

/// The size that the lines below are drawn in.
private let wide: CGFloat = 340
private let high: CGFloat = 240

private func lines(_ points: [(CGFloat, CGFloat)]) -> Path {
    Path { path in
        path.addLines(points.map { CGPoint(x: $0.0, y: $0.1) })
    }
}

/// The legs on the far side, a hand's breadth on: square, so almost hidden.
private let farLegs = Path { path in
    path.move(to: CGPoint(x: 212, y: 140))
    path.addLine(to: CGPoint(x: 230, y: 140))
    path.addLine(to: CGPoint(x: 228, y: 206))
    path.addCurve(
        to: CGPoint(x: 239, y: 222), control1: CGPoint(x: 238, y: 208),
        control2: CGPoint(x: 240, y: 214))
    path.addLine(to: CGPoint(x: 217, y: 222))
    path.closeSubpath()
    path.move(to: CGPoint(x: 96, y: 140))
    path.addLine(to: CGPoint(x: 128, y: 150))
    path.addCurve(
        to: CGPoint(x: 109, y: 196), control1: CGPoint(x: 126, y: 172),
        control2: CGPoint(x: 112, y: 184))
    path.addLine(to: CGPoint(x: 111, y: 208))
    path.addCurve(
        to: CGPoint(x: 121, y: 222), control1: CGPoint(x: 120, y: 210),
        control2: CGPoint(x: 121, y: 216))
    path.addLine(to: CGPoint(x: 98, y: 222))
    path.addLine(to: CGPoint(x: 94, y: 194))
    path.closeSubpath()
}

private let outline = Path { path in
    path.move(to: CGPoint(x: 306, y: 64))
    path.addCurve(
        to: CGPoint(x: 296, y: 77), control1: CGPoint(x: 309, y: 71),
        control2: CGPoint(x: 304, y: 76))
    path.addCurve(
        to: CGPoint(x: 264, y: 86), control1: CGPoint(x: 284, y: 79),
        control2: CGPoint(x: 274, y: 83))
    path.addCurve(
        to: CGPoint(x: 236, y: 124), control1: CGPoint(x: 252, y: 92),
        control2: CGPoint(x: 243, y: 108))
    path.addCurve(
        to: CGPoint(x: 222, y: 150), control1: CGPoint(x: 234, y: 134),
        control2: CGPoint(x: 229, y: 142))
    path.addCurve(
        to: CGPoint(x: 217, y: 205), control1: CGPoint(x: 219, y: 168),
        control2: CGPoint(x: 217, y: 188))
    path.addCurve(
        to: CGPoint(x: 228, y: 222), control1: CGPoint(x: 226, y: 207),
        control2: CGPoint(x: 229, y: 214))
    path.addLine(to: CGPoint(x: 203, y: 222))
    path.addCurve(
        to: CGPoint(x: 197, y: 161), control1: CGPoint(x: 203, y: 206),
        control2: CGPoint(x: 201, y: 180))
    path.addCurve(
        to: CGPoint(x: 120, y: 148), control1: CGPoint(x: 176, y: 167),
        control2: CGPoint(x: 146, y: 160))
    path.addCurve(
        to: CGPoint(x: 100, y: 192), control1: CGPoint(x: 121, y: 166),
        control2: CGPoint(x: 108, y: 180))
    path.addCurve(
        to: CGPoint(x: 100, y: 207), control1: CGPoint(x: 98, y: 197),
        control2: CGPoint(x: 99, y: 202))
    path.addCurve(
        to: CGPoint(x: 110, y: 222), control1: CGPoint(x: 109, y: 209),
        control2: CGPoint(x: 111, y: 215))
    path.addLine(to: CGPoint(x: 86, y: 222))
    path.addCurve(
        to: CGPoint(x: 80, y: 192), control1: CGPoint(x: 86, y: 212),
        control2: CGPoint(x: 83, y: 202))
    path.addCurve(
        to: CGPoint(x: 65, y: 126), control1: CGPoint(x: 82, y: 176),
        control2: CGPoint(x: 66, y: 158))
    path.addCurve(
        to: CGPoint(x: 40, y: 180), control1: CGPoint(x: 54, y: 142),
        control2: CGPoint(x: 52, y: 164))
    path.addCurve(
        to: CGPoint(x: 33, y: 176), control1: CGPoint(x: 37, y: 184),
        control2: CGPoint(x: 31, y: 181))
    path.addCurve(
        to: CGPoint(x: 68, y: 105), control1: CGPoint(x: 41, y: 154),
        control2: CGPoint(x: 44, y: 122))
    path.addCurve(
        to: CGPoint(x: 134, y: 92), control1: CGPoint(x: 82, y: 93),
        control2: CGPoint(x: 110, y: 93))
    path.addCurve(
        to: CGPoint(x: 199, y: 85), control1: CGPoint(x: 160, y: 91),
        control2: CGPoint(x: 184, y: 89))
    path.addCurve(
        to: CGPoint(x: 238, y: 48), control1: CGPoint(x: 216, y: 78),
        control2: CGPoint(x: 228, y: 64))
    path.addCurve(
        to: CGPoint(x: 246, y: 18), control1: CGPoint(x: 238, y: 38),
        control2: CGPoint(x: 240, y: 26))
    path.addCurve(
        to: CGPoint(x: 259, y: 36), control1: CGPoint(x: 252, y: 22),
        control2: CGPoint(x: 257, y: 29))
    path.addCurve(
        to: CGPoint(x: 281, y: 51), control1: CGPoint(x: 267, y: 37),
        control2: CGPoint(x: 276, y: 42))
    path.addCurve(
        to: CGPoint(x: 306, y: 64), control1: CGPoint(x: 290, y: 54),
        control2: CGPoint(x: 300, y: 57))
    path.closeSubpath()
}
#endif
