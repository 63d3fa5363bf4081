#if canImport(SwiftUI)
import StandsquareModel
import SwiftUI

/// A message with its weight: a mark and words, never colour alone.
struct Banner: View {
    let mood: Mood
    let text: String

    var body: some View {
        Label(text, systemImage: mood.symbol)
            .frame(maxWidth: .infinity, alignment: .leading)
            .padding(12)
            .background(mood.colour.opacity(0.15), in: .rect(cornerRadius: 12))
    }
}

extension Mood {
    var symbol: String {
        switch self {
        case .good: "checkmark.circle.fill"
        case .care: "exclamationmark.triangle.fill"
        case .bad: "xmark.octagon.fill"
        }
    }

    var colour: Color {
        switch self {
        case .good: .green
        case .care: .orange
        case .bad: .red
        }
    }
}

/// The buttons of a screen, in the order given. Why one cannot be used stands under it.
struct ButtonsView: View {
    let buttons: [ButtonState]
    let send: (ButtonState) -> Void

    var body: some View {
        VStack(spacing: 8) {
            ForEach(buttons) { button in
                VStack(spacing: 2) {
                    Button {
                        send(button)
                    } label: {
                        Text(button.label)
                            .font(button.weight.font)
                            .frame(maxWidth: .infinity, minHeight: button.weight.height)
                    }
                    .buttonStyle(.bordered)
                    .tint(button.weight.tint)
                    .disabled(!button.enabled)
                    .accessibilityIdentifier(button.id)
                    if let whyNot = button.whyNot { Text(whyNot).font(.footnote) }
                }
            }
        }
        .padding()
    }
}

extension Weight {
    var font: Font {
        switch self {
        case .main, .equal: .title3.bold()
        case .other, .stop: .body
        case .quiet: .footnote
        }
    }

    /// Points. The big ones are for cold hands and gloves.
    var height: CGFloat {
        switch self {
        case .main, .equal: 64
        case .other, .stop: 52
        case .quiet: 44
        }
    }

    var tint: Color {
        switch self {
        case .main, .equal: .accentColor
        case .other, .quiet: .secondary
        case .stop: .red
        }
    }
}

/// Ways to answer, one beside the other; the one taken is marked.
struct ChoicesView: View {
    let choices: [ChoiceState]
    let send: (Tap) -> Void

    var body: some View {
        ViewThatFits {
            HStack { row }
            VStack { row }
        }
    }

    private var row: some View {
        ForEach(choices) { choice in
            Button {
                send(choice.tap)
            } label: {
                Label(
                    choice.label, systemImage: choice.chosen ? "largecircle.fill.circle" : "circle"
                )
                .frame(maxWidth: .infinity, minHeight: 44)
            }
            .buttonStyle(.bordered)
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
        VStack(alignment: .leading, spacing: 8) {
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

/// Digits in, a tap out. What is typed is held here only until it is handed over.
struct PinView: View {
    let entry: PinEntry
    let send: (Tap) -> Void
    @State private var digits = ""

    var body: some View {
        VStack(alignment: .leading) {
            Text(entry.prompt)
            HStack {
                SecureField(entry.prompt, text: $digits)
                    .keyboardType(.numberPad)
                    .textFieldStyle(.roundedBorder)
                    .accessibilityIdentifier("pin.\(entry.person)")
                Button(entry.confirm) {
                    send(entry.tap(digits: digits))
                    digits = ""
                }
                .disabled(!entry.digits.contains(digits.count))
                .accessibilityIdentifier("pin.confirm.\(entry.person)")
            }
        }
    }
}

/// A text in, a tap out.
struct EntryView: View {
    let entry: TextEntry
    let send: (Tap) -> Void
    @State private var text = ""

    var body: some View {
        VStack(alignment: .leading) {
            Text(entry.prompt).font(.headline)
            Text(entry.hint).font(.footnote)
            HStack {
                TextField(entry.prompt, text: $text)
                    .keyboardType(entry.digitsOnly ? .numberPad : .default)
                    .textFieldStyle(.roundedBorder)
                Button(entry.confirm) {
                    send(entry.tap(text: text))
                    text = ""
                }
                .disabled(text.isEmpty)
            }
        }
    }
}
#endif
