#if canImport(SwiftUI)
import StandsquareModel
import SwiftUI

struct HomeView: View {
    let state: HomeState

    var body: some View {
        Text(state.roster)
        Heading(text: state.heading)
        ForEach(state.sessions) { session in
            VStack(alignment: .leading) {
                Text(session.day).bold()
                Text(session.venue)
                Text(session.dogs).font(.footnote)
                Text(session.sending).font(.footnote)
            }
            .accessibilityElement(children: .combine)
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
        Text(state.instruction).font(.title3)
        Text(state.progress)
        if let tilt = state.tilt { Banner(mood: tilt.mood, text: tilt.text) }
    }
}

struct HoopsView: View {
    let state: HoopsState
    let send: (Tap) -> Void

    var body: some View {
        Text(state.instruction)
        ForEach(state.hoops) { hoop in
            VStack(alignment: .leading) {
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
            if let note = hoop.note { Banner(mood: .care, text: note) }
        }
        .accessibilityElement(children: .combine)
    }
}

struct MeasurersView: View {
    let state: MeasurersState
    let send: (Tap) -> Void

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
                    .frame(maxWidth: .infinity, minHeight: 52, alignment: .leading)
                }
                .buttonStyle(.bordered)
                .disabled(person.whyNot != nil)
                .accessibilityAddTraits(person.seated ? .isSelected : [])
                .accessibilityIdentifier("person.\(person.id)")
                if let whyNot = person.whyNot { Text(whyNot).font(.footnote) }
            }
        }
    }
}
#endif
