#if canImport(SwiftUI)
import StandsquareModel
import SwiftUI

/// A QR code, dark on light in either theme: a camera reads it so.
struct CodeView: View {
    let code: CodeState

    var body: some View {
        CodeShape(code: code)
            .fill(Color(red: 0, green: 0, blue: 0))
            .aspectRatio(1, contentMode: .fit)
            .frame(maxWidth: 420)
            .background(Color(red: 1, green: 1, blue: 1))
            .accessibilityLabel(code.said)
    }
}

/// The dark modules.
struct CodeShape: Shape {
    let code: CodeState

    func path(in rect: CGRect) -> Path {
        var path = Path()
        // Four modules of light all round: what the standard asks for.
        let whole = min(rect.width, rect.height)
        let step = (whole / CGFloat(code.side + 8)).rounded(.down)
        let edge = (whole - step * CGFloat(code.side)) / 2
        for y in 0..<code.side {
            for x in 0..<code.side where code.isDark(x, y) {
                path.addRect(
                    CGRect(
                        x: rect.minX + edge + CGFloat(x) * step,
                        y: rect.minY + edge + CGFloat(y) * step, width: step, height: step))
            }
        }
        return path
    }
}

struct SlipView: View {
    let state: SlipState

    var body: some View {
        Text(state.instruction)
        CodeView(code: state.code)
        PairsView(pairs: state.line)
        PointsView(heading: state.reasonsHeading, points: state.reasons)
    }
}

struct SlipCheckView: View {
    let state: SlipCheckState
    let send: (Tap) -> Void

    var body: some View {
        if let instruction = state.instruction { Text(instruction) }
        if let answer = state.answer { Banner(notice: answer) }
        if !state.says.isEmpty { PairsView(pairs: state.says) }
        EntryView(entry: state.entry, send: send)
    }
}

struct CodesView: View {
    let state: CodesState

    var body: some View {
        CodeView(code: state.code)
        if let which = state.which { Text(which) }
        Text(state.how)
        if !state.says.isEmpty { PairsView(pairs: state.says) }
    }
}

/// Lines to read under headings: an earlier session, a dog's history, what is on this phone.
struct PageView: View {
    let state: PageState
    let send: (Tap) -> Void
    @Environment(\.palette) private var palette

    var body: some View {
        ForEach(state.sections, id: \.self) { section in
            Heading(text: section.heading)
            if let none = section.none { Text(none) }
            ForEach(section.lines) { line in
                CardView {
                    VStack(alignment: .leading) {
                        Text(line.heading).bold()
                        ForEach(line.notes, id: \.self) { Text($0) }
                        if let whereabouts = line.whereabouts { Text(whereabouts).font(.footnote) }
                    }
                    .accessibilityElement(children: .combine)
                    if let open = line.open {
                        Button(line.openLabel) { send(open) }
                            .buttonStyle(TouchStyle(pair: palette.page, height: Height.touch))
                            .accessibilityIdentifier("open.\(line.id)")
                    }
                }
            }
        }
    }
}

/// The person's choices, which the phone keeps, and what is on it.
struct SettingsView: View {
    let state: PageState
    let looks: LooksState
    let send: (Tap) -> Void
    let choose: (Language) -> Void
    let change: (LooksChange) -> Void
    @Environment(\.palette) private var palette

    var body: some View {
        LanguagesView(looks: looks, choose: choose)
        Heading(text: looks.themeHeading)
        choices(looks.themes)
        Heading(text: looks.toldHeading)
        choices(looks.told)
        Text(looks.typeSize)
        PageView(state: state, send: send)
    }

    private func choices(_ all: [LooksState.Option]) -> some View {
        ForEach(all) { one in
            Button(one.label) { change(one.change) }
                .buttonStyle(
                    TouchStyle(
                        pair: one.chosen ? palette.good : palette.page, height: Height.touch))
                .accessibilityAddTraits(one.chosen ? .isSelected : [])
                .accessibilityIdentifier("settings.\(one.id)")
        }
    }
}

struct IncidentView: View {
    let state: IncidentState
    let send: (Tap) -> Void
    @State private var words = ""
    @Environment(\.palette) private var palette

    var body: some View {
        ForEach(state.choices) { one in
            Button(one.label) { send(one.tap(words: words)) }
                .buttonStyle(TouchStyle(pair: palette.page, height: Height.touch))
                .accessibilityIdentifier("incident.\(one.id)")
        }
        Heading(text: state.wordsLabel)
        TextField(state.wordsLabel, text: $words).textFieldStyle(.roundedBorder)
        Text(state.noNames).font(.footnote)
    }
}

struct ObjectionView: View {
    let state: ObjectionState
    let send: (Tap) -> Void
    @State private var words = ""
    @Environment(\.palette) private var palette

    var body: some View {
        Text(state.about).bold()
        Heading(text: state.wordsLabel)
        TextField(state.wordsLabel, text: $words).textFieldStyle(.roundedBorder)
        Button(state.record) { send(state.tap(words: words)) }
            .buttonStyle(TouchStyle(pair: palette.main, height: Height.main))
            .accessibilityIdentifier("objection.record")
        Heading(text: state.nextHeading)
        ForEach(state.next, id: \.self) { Text($0) }
        if !state.before.isEmpty {
            Heading(text: state.beforeHeading)
            ForEach(state.before, id: \.self) { Text($0) }
        }
    }
}
#endif
