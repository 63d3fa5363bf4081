#if canImport(SwiftUI)
import StandsquareModel
import SwiftUI

struct SignView: View {
    let state: SignState
    let send: (Tap) -> Void

    var body: some View {
        CardView {
            Text(state.outcome).font(.largeTitle).bold()
            if let height = state.height { Text(height).font(.title3) }
        }
        PairsView(heading: state.statementHeading, pairs: state.statement)
        Heading(text: state.reasonsHeading)
        ForEach(state.reasons, id: \.self) { reason in
            VStack(alignment: .leading) {
                Text(reason.text)
                Text(reason.clause).font(.caption)
            }
            .accessibilityElement(children: .combine)
        }
        SeatsView(seats: state.seats, send: send)
    }
}

/// The measurers' places at a signature.
struct SeatsView: View {
    let seats: [SeatState]
    let send: (Tap) -> Void

    var body: some View {
        ForEach(seats) { SeatView(seat: $0, send: send) }
    }
}

/// Who signs: a name to tap, then the keys for that person's PIN, or for a signed paper's number.
struct SeatView: View {
    let seat: SeatState
    let send: (Tap) -> Void
    @State private var open = false
    @Environment(\.palette) private var palette

    var body: some View {
        VStack(alignment: .leading) {
            if let onPaper = seat.onPaper { Text(onPaper).bold() }
            if let whyNot = seat.whyNot { Text(whyNot).bold() }
            if let entry = seat.entry {
                if open {
                    if let tries = seat.tries { Text(tries).font(.footnote) }
                    PinView(entry: entry, send: send, onClose: { open = false })
                } else {
                    Button(seat.label) { open = true }
                        .buttonStyle(TouchStyle(pair: palette.main, height: Height.main))
                        .accessibilityIdentifier("sign.\(seat.id)")
                }
            } else if let confirm = seat.confirm {
                Button(seat.label) { send(confirm) }
                    .buttonStyle(TouchStyle(pair: palette.main, height: Height.main))
                    .accessibilityIdentifier("sign.\(seat.id)")
            } else if let paper = seat.paper {
                if let tries = seat.tries { Text(tries).font(.footnote) }
                EntryView(entry: paper, send: send)
            } else {
                Text(seat.label).bold()
            }
            if let owner = seat.byOwner {
                Button(owner.label) { send(owner.tap) }
                    .buttonStyle(TouchStyle(pair: palette.page, height: Height.main))
                    .accessibilityIdentifier("owner.\(seat.id)")
            }
            Text(seat.number).font(.footnote)
        }
    }
}

struct UnlockView: View {
    let state: UnlockState
    let send: (Tap) -> Void

    var body: some View {
        Text(state.why)
        SeatsView(seats: state.seats, send: send)
    }
}

struct SignListView: View {
    let state: SignListState
    let send: (Tap) -> Void

    var body: some View {
        PairsView(heading: state.statementHeading, pairs: state.statement)
        SeatsView(seats: state.seats, send: send)
    }
}

struct CorrectView: View {
    let state: CorrectState
    let send: (Tap) -> Void

    var body: some View {
        if let instruction = state.instruction { Text(instruction) }
        ChoicesView(choices: state.choices, send: send)
        if !state.statement.isEmpty {
            PairsView(heading: state.statementHeading, pairs: state.statement)
        }
        SeatsView(seats: state.seats, send: send)
    }
}

/// How sure the category is: a quiet line, where the rules show it.
struct HowSureView: View {
    let line: String?

    var body: some View {
        if let line { Text(line).accessibilityIdentifier("how-sure") }
    }
}

struct HandOverView: View {
    let state: HandOverState

    var body: some View {
        Text(state.instruction).font(.title).bold()
        Text(state.unseen)
    }
}

struct QueueView: View {
    let state: QueueState
    let send: (Tap) -> Void

    var body: some View {
        if let newChip = state.newChip { Text(newChip) }
        DogsView(group: state.waiting, send: send)
        if let find = state.find { EntryView(entry: find, send: send) }
        DogsView(group: state.done, send: send)
    }
}

struct NewcomerView: View {
    let state: NewcomerState
    let send: (Tap) -> Void
    @State private var name = ""
    @State private var born = ""
    @State private var category = ""
    @State private var measured = ""
    @Environment(\.palette) private var palette

    var body: some View {
        Text(state.chip).font(.title3.monospacedDigit())
        Text(state.instruction)
        TextField(state.nameLabel, text: $name).textFieldStyle(.roundedBorder)
        TextField(state.bornLabel, text: $born).textFieldStyle(.roundedBorder)
        Heading(text: state.measuredLabel)
        ForEach(state.categories) { one in
            Button(one.label) { category = one.id }
                .buttonStyle(
                    TouchStyle(
                        pair: one.id == category ? palette.good : palette.page,
                        height: Height.touch))
                .accessibilityAddTraits(one.id == category ? .isSelected : [])
        }
        TextField(state.onLabel, text: $measured).textFieldStyle(.roundedBorder)
        Button(state.confirm) {
            send(state.tap(name: name, born: born, category: category, measured: measured))
        }
        .buttonStyle(TouchStyle(pair: palette.main, height: Height.main))
        .accessibilityIdentifier("newcomer.done")
    }
}

struct CloseView: View {
    let state: CloseState

    var body: some View {
        ForEach(state.groups, id: \.heading) { DogsView(group: $0, send: { _ in }) }
    }
}

struct DogsView: View {
    let group: DogGroup
    let send: (Tap) -> Void
    @Environment(\.palette) private var palette

    var body: some View {
        Heading(text: group.heading)
        if let none = group.none { Text(none) }
        ForEach(group.dogs) { dog in
            if let call = dog.call {
                Button {
                    send(call)
                } label: {
                    DogRow(dog: dog)
                }
                .buttonStyle(TouchStyle(pair: palette.page, height: Height.touch))
                .accessibilityHint(dog.callLabel)
                .accessibilityIdentifier("dog.\(dog.id)")
            } else {
                DogRow(dog: dog)
            }
            if let look = dog.look {
                Button(dog.lookLabel) { send(look) }
                    .buttonStyle(TouchStyle(pair: palette.page, height: Height.touch))
                    .accessibilityIdentifier("look.\(dog.id)")
            }
            if let right = dog.putRight {
                Button(dog.putRightLabel) { send(right) }
                    .buttonStyle(TouchStyle(pair: palette.page, height: Height.touch))
                    .accessibilityIdentifier("right.\(dog.id)")
            }
        }
    }
}

struct DogRow: View {
    let dog: QueuedDog

    var body: some View {
        VStack(alignment: .leading) {
            HStack(alignment: .firstTextBaseline) {
                Text(dog.name).bold()
                Text(dog.handler)
                Spacer()
                Text(dog.standing).font(.footnote)
            }
            if let note = dog.note { Text(note) }
            if let wait = dog.wait { Text(wait) }
            if let beside = dog.beside { Text(beside) }
            if let whereabouts = dog.whereabouts { Text(whereabouts).font(.footnote) }
        }
        .frame(maxWidth: .infinity, minHeight: 44, alignment: .leading)
        .accessibilityElement(children: .combine)
    }
}

struct SentView: View {
    let state: SentState

    var body: some View {
        Banner(notice: state.said)
        ForEach(state.rows, id: \.self) { row in
            VStack(alignment: .leading) {
                HStack {
                    Text(row.name).bold()
                    Spacer()
                    Text(row.outcome)
                }
                Text(row.chip).font(.body.monospacedDigit())
                if let heading = row.flagsHeading { Heading(text: heading) }
                ForEach(row.flags, id: \.self) { Text($0).font(.footnote) }
                Text(row.whereabouts).font(.footnote)
            }
            .accessibilityElement(children: .combine)
        }
        Text(state.file).font(.footnote)
    }
}
#endif
