#if canImport(SwiftUI)
import StandsquareModel
import SwiftUI

struct ReadersView: View {
    let state: ReadersState
    let send: (Tap) -> Void
    @Environment(\.palette) private var palette

    var body: some View {
        if let trial = state.trial { TrialView(trial: trial, send: send) }
        if let known = state.known { EntryView(entry: known, send: send) }
        Heading(text: state.heading)
        if let none = state.none { Text(none) }
        ForEach(state.readers) { line in
            HStack {
                VStack(alignment: .leading) {
                    Label(line.name, systemImage: line.link.symbol).bold()
                    Text(line.standing)
                    Text(line.notes).font(.footnote)
                }
                .accessibilityElement(children: .combine)
                Spacer()
                if let use = line.use {
                    Button {
                        send(use)
                    } label: {
                        Image(systemName: "chevron.right")
                    }
                    .buttonStyle(TouchStyle(pair: palette.page, height: Height.touch))
                    .frame(maxWidth: Height.main)
                    .accessibilityLabel(line.useLabel)
                    .accessibilityIdentifier("reader.\(line.id)")
                }
            }
        }
    }
}

/// How the reader in use does with a known chip.
struct TrialView: View {
    let trial: ReadersState.Trial
    let send: (Tap) -> Void

    var body: some View {
        Heading(text: trial.heading)
        Banner(notice: trial.said)
        if let number = trial.number {
            VStack(alignment: .leading) {
                Text(number).font(.title.monospacedDigit())
                if let form = trial.form { Text(form).font(.footnote) }
            }
            .accessibilityElement(children: .combine)
        }
        if let known = trial.known { Text(known).font(.body.monospacedDigit()) }
        ChoicesView(choices: trial.choices, send: send)
    }
}

extension LinkState {
    /// The mark beside a reader's name; the words beside it say the same.
    var symbol: String {
        switch self {
        case .none: "circle"
        case .looking: "arrow.clockwise"
        case .connected: "dot.radiowaves.left.and.right"
        case .lost: "exclamationmark.triangle"
        }
    }
}
#endif
