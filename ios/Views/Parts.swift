#if canImport(SwiftUI)
import StandsquareModel
import SwiftUI

/// A message with its weight: a mark and words, never colour alone.
struct Banner: View {
    let notice: NoticeState
    @Environment(\.palette) private var palette

    var body: some View {
        let pair = palette.pair(notice.mood)
        Label(notice.text, systemImage: notice.mood.symbol)
            .frame(maxWidth: .infinity, alignment: .leading)
            .padding(12)
            .foregroundStyle(Color(rgb: pair.ink))
            .background(Color(rgb: pair.ground), in: .rect(cornerRadius: 14))
            .accessibilityElement(children: .combine)
            // The mark, for who does not see it.
            .accessibilityValue(notice.said)
    }
}

extension Mood {
    /// A symbol of the system's own; they differ in shape.
    var symbol: String {
        switch self {
        case .good: "checkmark.circle.fill"
        case .care: "exclamationmark.triangle.fill"
        case .bad: "xmark.octagon.fill"
        }
    }
}

/// The buttons of a screen, in the order given. Why one cannot be used stands in it.
struct ButtonsView: View {
    let buttons: [ButtonState]
    let send: (ButtonState) -> Void
    @Environment(\.palette) private var palette

    var body: some View {
        VStack(spacing: 8) {
            ForEach(buttons) { button in
                Button {
                    send(button)
                } label: {
                    VStack(spacing: 2) {
                        Text(button.label).font(button.weight.font)
                        if let whyNot = button.whyNot { Text(whyNot).font(.footnote) }
                    }
                }
                .buttonStyle(
                    TouchStyle(pair: palette.pair(button.weight), height: button.weight.height))
                .disabled(!button.enabled)
                .accessibilityIdentifier(button.id)
            }
        }
        .padding()
    }
}

extension Weight {
    var font: Font {
        switch self {
        case .main, .equal, .stop: .title3.bold()
        case .other, .quiet: .body
        }
    }

    var height: CGFloat {
        switch self {
        case .main: Height.main
        case .equal: Height.equal
        case .other, .stop, .quiet: Height.touch
        }
    }
}

/// Ways to answer, one beside the other, or one under the other where type is large; the one
/// taken is marked.
struct ChoicesView: View {
    let choices: [ChoiceState]
    let send: (Tap) -> Void
    @Environment(\.palette) private var palette

    var body: some View {
        ViewThatFits {
            HStack(spacing: 8) { row }
            VStack(spacing: 8) { row }
        }
    }

    private var row: some View {
        ForEach(choices) { choice in
            Button {
                send(choice.tap)
            } label: {
                Label(
                    choice.label, systemImage: choice.chosen ? "largecircle.fill.circle" : "circle")
            }
            .buttonStyle(
                TouchStyle(
                    pair: choice.chosen ? palette.good : palette.page, height: Height.touch))
            .accessibilityAddTraits(choice.chosen ? .isSelected : [])
            .accessibilityIdentifier(choice.id)
        }
    }
}

/// A heading; nothing where there are no words for one.
struct Heading: View {
    let text: String

    var body: some View {
        if !text.isEmpty {
            Text(text).font(.headline).accessibilityAddTraits(.isHeader)
        }
    }
}

/// Labels and what belongs to them.
struct PairsView: View {
    var heading = ""
    let pairs: [PairState]

    var body: some View {
        CardView {
            Heading(text: heading)
            ForEach(pairs, id: \.self) { pair in
                LabeledContent(pair.label) { Text(pair.value).bold() }
                    .accessibilityElement(children: .combine)
            }
        }
    }
}

/// Lines to go through, one under the other.
struct PointsView: View {
    var heading = ""
    let points: [String]

    var body: some View {
        VStack(alignment: .leading, spacing: 12) {
            Heading(text: heading)
            ForEach(points, id: \.self) { Text($0).font(.title3) }
        }
    }
}

/// A PIN: whose, and the keys for it.
struct PinView: View {
    let entry: PinEntry
    let send: (Tap) -> Void
    var onClose: (@MainActor () -> Void)?

    var body: some View {
        VStack(alignment: .leading, spacing: 8) {
            Text(entry.prompt).font(.title3)
            PadView(
                pad: entry.pad, name: "pin.\(entry.person)",
                onEnter: { send(entry.tap(digits: $0)) }, onClose: onClose)
        }
    }
}

/// A text or a number in, a tap out; opened by a button, since it is seldom needed.
struct EntryView: View {
    let entry: TextEntry
    let send: (Tap) -> Void
    @State private var open = false
    @State private var text = ""
    @Environment(\.palette) private var palette

    var body: some View {
        if !open {
            Button(entry.prompt) { open = true }
                .buttonStyle(TouchStyle(pair: palette.page, height: Height.touch))
        } else if let pad = entry.pad {
            Text(entry.hint).bold()
            PadView(pad: pad, name: "number", onEnter: hand, onClose: { open = false })
        } else {
            Heading(text: entry.hint)
            TextField(entry.hint, text: $text)
                .textFieldStyle(.roundedBorder)
            Button(entry.confirm) { hand(text) }
                .buttonStyle(TouchStyle(pair: palette.page, height: Height.touch))
                .disabled(text.isEmpty)
        }
    }

    private func hand(_ typed: String) {
        send(entry.tap(text: typed))
        text = ""
        open = false
    }
}
#endif
