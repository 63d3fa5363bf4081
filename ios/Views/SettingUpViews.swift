#if canImport(SwiftUI)
import StandsquareModel
import SwiftUI

struct HomeView: View {
    let state: HomeState
    let looks: LooksState
    let send: (Tap) -> Void
    let choose: (Language) -> Void
    @Environment(\.palette) private var palette

    var body: some View {
        Banner(notice: state.roster)
        DogDrawing(hoop: true, said: state.drawing)
        LanguagesView(looks: looks, choose: choose)
        Heading(text: state.heading)
        if let none = state.none { Text(none) }
        ForEach(state.sessions) { session in
            VStack(alignment: .leading) {
                Text(session.day).bold()
                Text(session.venue)
                Text(session.dogs).font(.footnote)
                Text(session.sending).font(.footnote)
            }
            .accessibilityElement(children: .combine)
            Button(session.openLabel) { send(session.open) }
                .buttonStyle(TouchStyle(pair: palette.page, height: Height.touch))
                .accessibilityIdentifier("open.\(session.id)")
        }
    }
}

/// The languages, each named in itself.
struct LanguagesView: View {
    let looks: LooksState
    let choose: (Language) -> Void
    @Environment(\.palette) private var palette

    var body: some View {
        Heading(text: looks.heading)
        ViewThatFits {
            HStack(spacing: 8) { row }
            VStack(spacing: 8) { row }
        }
    }

    private var row: some View {
        ForEach(looks.languages) { one in
            Button(one.name) { choose(one.language) }
                .buttonStyle(
                    TouchStyle(
                        pair: one.chosen ? palette.good : palette.page, height: Height.touch))
                .accessibilityAddTraits(one.chosen ? .isSelected : [])
                .accessibilityIdentifier("language.\(one.id)")
        }
    }
}

struct VenueView: View {
    let state: VenueState
    let send: (Tap) -> Void

    var body: some View {
        LabeledContent(state.packLabel) { Text(state.pack) }
        ChoicesView(choices: state.venues, send: send)
        EntryView(entry: state.other, send: send)
    }
}

struct SurfaceView: View {
    let state: SurfaceState

    var body: some View {
        if let outcome = state.outcome {
            Banner(notice: outcome)
        } else {
            Text(state.instruction).font(.title3)
        }
        if let progress = state.progress { Text(progress) }
        if let tilt = state.tilt { Text(tilt).bold() }
    }
}

struct HoopsView: View {
    let state: HoopsState
    let send: (Tap) -> Void

    var body: some View {
        Text(state.instruction)
        ForEach(state.hoops) { hoop in
            CardView {
                HoopHeading(hoop: hoop)
                ChoicesView(choices: hoop.choices, send: send)
            }
        }
    }
}

struct HoopHeading: View {
    let hoop: HoopState

    var body: some View {
        VStack(alignment: .leading) {
            Text(hoop.label).font(.title3).bold()
            ForEach(hoop.details, id: \.self) { Text($0).font(.footnote) }
            if let note = hoop.note { Banner(notice: note) }
        }
        .accessibilityElement(children: .combine)
    }
}

struct MeasurersView: View {
    let state: MeasurersState
    let send: (Tap) -> Void
    @Environment(\.palette) private var palette

    var body: some View {
        Text(state.needed)
        ForEach(state.people) { person in
            VStack(alignment: .leading) {
                Button {
                    send(person.toggle)
                } label: {
                    Label {
                        VStack(alignment: .leading) {
                            Text(person.name).bold()
                            Text(person.number).font(.footnote)
                        }
                    } icon: {
                        Image(systemName: person.seated ? "checkmark.square" : "square")
                    }
                }
                .buttonStyle(
                    TouchStyle(
                        pair: person.seated ? palette.good : palette.page, height: Height.main))
                .disabled(person.whyNot != nil)
                .accessibilityAddTraits(person.seated ? .isSelected : [])
                .accessibilityIdentifier("person.\(person.id)")
                if let note = person.note { Text(note).font(.footnote) }
                if let whyNot = person.whyNot { Text(whyNot).font(.footnote) }
            }
        }
    }
}
#endif
