#if canImport(SwiftUI)
import StandsquareModel
import SwiftUI

/// The app from its start: opening, the session, or why it cannot be opened.
public struct OpeningView: View {
    private let opening: Opening
    private let tilt: () -> (xMdeg: Int32, yMdeg: Int32)?
    private let again: @MainActor () -> Void

    /// - Parameters:
    ///   - opening: how far it has come.
    ///   - tilt: the phone's own tilt, thousandths of a degree.
    ///   - again: opens the record again, after a fault.
    public init(
        opening: Opening, tilt: @escaping () -> (xMdeg: Int32, yMdeg: Int32)?,
        again: @escaping @MainActor () -> Void
    ) {
        self.opening = opening
        self.tilt = tilt
        self.again = again
    }

    public var body: some View {
        switch opening {
        case .underWay(let text): ProgressView(text)
        case .done(let model): SessionView(model: model, tilt: tilt, again: again)
        case .failed(let fault): FaultView(fault: fault, again: again).padding()
        }
    }
}

/// The whole glass: the dog in hand above, the screen, what could hurt, and the buttons below,
/// where the thumb of the hand that holds the phone is.
public struct SessionView: View {
    private let model: SessionModel
    private let tilt: () -> (xMdeg: Int32, yMdeg: Int32)?
    private let again: @MainActor () -> Void
    @Environment(\.colorScheme) private var scheme
    /// Codes are read with the camera.
    @State private var camera = false

    /// - Parameters:
    ///   - model: the session.
    ///   - tilt: the phone's own tilt, thousandths of a degree.
    ///   - again: opens the record again, after a fault.
    public init(
        model: SessionModel, tilt: @escaping () -> (xMdeg: Int32, yMdeg: Int32)?,
        again: @escaping @MainActor () -> Void
    ) {
        self.model = model
        self.tilt = tilt
        self.again = again
    }

    public var body: some View {
        let glass = model.glass
        let looks = model.looksState
        let look = looks.byPhone ? (scheme == .dark ? Look.dark : Look.sun) : looks.look
        let palette = look.palette
        Group {
            if camera, model.fault == nil, let state = glass.camera, state.isReading {
                CameraView(glass: glass, state: state, send: send) { camera = false }
            } else {
                VStack(spacing: 0) {
                    HeaderView(glass: glass, looks: looks) { model.changeLook() }
                    ScrollView {
                        VStack(alignment: .leading, spacing: 16) {
                            if let fault = model.fault { FaultView(fault: fault, again: again) }
                            if let notice = glass.notice { Banner(notice: notice) }
                            ForEach(glass.cautions, id: \.self) { Banner(notice: $0) }
                            ScreenView(
                                screen: glass.screen, looks: looks, send: send,
                                choose: { model.choose($0) }, change: { model.change($0) })
                        }
                        .padding()
                    }
                    if let state = glass.camera {
                        Button(state.open) {
                            // An answer that is there is put away first.
                            if let again = state.again { send(again) }
                            camera = true
                        }
                        .buttonStyle(TouchStyle(pair: palette.main, height: Height.main))
                        .padding(.horizontal)
                        .accessibilityIdentifier("camera.open")
                    }
                    ButtonsView(buttons: glass.buttons, send: press)
                }
            }
        }
        // With the answer, or the screen, the reading is over.
        .onChange(of: glass.camera?.isReading) { _, now in
            if now != true { camera = false }
        }
        .foregroundStyle(Color(rgb: palette.page.ink))
        .background(Color(rgb: palette.page.ground))
        .environment(\.palette, palette)
        .preferredColorScheme(looks.byPhone ? nil : looks.look == .sun ? .light : .dark)
    }

    private func send(_ tap: Tap) {
        Task { await model.send(tap) }
    }

    /// The level button takes the phone's own tilt with it; every other is sent as it is.
    private func press(_ button: ButtonState) {
        if case .surface(let surface) = model.glass.screen, surface.isReading(button) {
            guard let now = tilt() else { return }
            send(surface.entry.tap(xMdeg: now.xMdeg, yMdeg: now.yMdeg))
        } else {
            send(button.tap)
        }
    }
}

/// The record cannot be read or written: what to do.
public struct FaultView: View {
    private let fault: FaultState
    private let again: @MainActor () -> Void
    @Environment(\.palette) private var palette

    /// - Parameters:
    ///   - fault: what to say.
    ///   - again: opens the record again.
    public init(fault: FaultState, again: @escaping @MainActor () -> Void) {
        self.fault = fault
        self.again = again
    }

    public var body: some View {
        VStack(alignment: .leading, spacing: 8) {
            Heading(text: fault.title)
            Banner(notice: fault.notice)
            Text(fault.comfort)
            Button(fault.tryAgain, action: again)
                .buttonStyle(TouchStyle(pair: palette.main, height: Height.main))
        }
    }
}

/// Which screen.
struct ScreenView: View {
    let screen: ScreenState
    let looks: LooksState
    let send: (Tap) -> Void
    let choose: (Language) -> Void
    let change: (LooksChange) -> Void

    var body: some View {
        switch screen {
        case .home(let state): HomeView(state: state, looks: looks, send: send, choose: choose)
        case .venue(let state): VenueView(state: state, send: send)
        case .surface(let state): SurfaceView(state: state)
        case .hoops(let state): HoopsView(state: state, send: send)
        case .measurers(let state): MeasurersView(state: state, send: send)
        case .pin(let state): PinView(entry: state.entry, send: send)
        case .queue(let state): QueueView(state: state, send: send)
        case .papers(let state): PapersView(state: state, send: send)
        case .handler(let state): HandlerView(state: state, send: send)
        case .chip(let state): ChipView(state: state, send: send)
        case .settle(let state): SettleView(state: state)
        case .stance(let state): StanceView(state: state)
        case .placing(let state): PlacingView(state: state)
        case .sign(let state): SignView(state: state, send: send)
        case .bookLine(let state):
            PairsView(heading: state.instruction, pairs: state.cells)
            HowSureView(line: state.howSure)
            ForEach(state.shadowed, id: \.self) { Text($0) }
        case .tell(let state):
            PointsView(heading: state.instruction, points: state.lines)
            HowSureView(line: state.howSure)
        case .stop(let state): ChoicesView(choices: state.reasons, send: send)
        case .correct(let state): CorrectView(state: state, send: send)
        case .newcomer(let state): NewcomerView(state: state, send: send)
        case .handOver(let state): HandOverView(state: state)
        case .unlock(let state): UnlockView(state: state, send: send)
        case .signList(let state): SignListView(state: state, send: send)
        case .close(let state): CloseView(state: state)
        case .sent(let state): SentView(state: state)
        case .readers(let state): ReadersView(state: state, send: send)
        case .slip(let state): SlipView(state: state)
        case .slipCheck(let state): SlipCheckView(state: state, send: send)
        case .past(let state): PageView(state: state, send: send)
        case .history(let state): PageView(state: state, send: send)
        case .settings(let state):
            SettingsView(state: state, looks: looks, send: send, choose: choose, change: change)
        case .incident(let state): IncidentView(state: state, send: send)
        case .objection(let state): ObjectionView(state: state, send: send)
        case .codes(let state): CodesView(state: state)
        case .heard(let state):
            ForEach([state.known, state.came], id: \.self) { Text($0).bold() }
            Text(state.rules)
        case .practice(let state): PracticeView(state: state, send: send)
        case .own(let state): OwnView(state: state)
        case .drill(let state): DrillView(state: state)
        case .feedback(let state): FeedbackView(state: state, send: send)
        case .shadow(let state): ShadowView(state: state, send: send)
        }
    }
}

/// What stays above: the league, the mark of an invented one, the title, the dog in hand, how
/// the reader and the outbox stand.
struct HeaderView: View {
    let glass: GlassState
    let looks: LooksState
    let changeLook: @MainActor () -> Void
    @Environment(\.palette) private var palette

    var body: some View {
        VStack(alignment: .leading, spacing: 4) {
            HStack {
                VStack(alignment: .leading) {
                    Text(glass.league).font(.caption)
                    if let mark = glass.mark {
                        Text(mark).bold()
                            .padding(.horizontal, 10)
                            .foregroundStyle(Color(rgb: palette.demo.ink))
                            .background(Color(rgb: palette.demo.ground), in: .rect(cornerRadius: 6))
                    }
                }
                Spacer()
                Button(action: changeLook) {
                    Image(systemName: looks.look == .sun ? "moon" : "sun.max")
                        .frame(minWidth: Height.touch, minHeight: Height.touch)
                }
                .accessibilityLabel(looks.changeLook)
            }
            Text(glass.title).font(.title2).bold().accessibilityAddTraits(.isHeader)
            if let dog = glass.dog { DogHeadingView(dog: dog) }
            HStack {
                Text(glass.reader.text)
                Spacer()
                Text(glass.outbox.text)
            }
            .font(.caption)
        }
        .padding()
    }
}

/// The dog in hand.
struct DogHeadingView: View {
    let dog: DogHeading

    var body: some View {
        VStack(alignment: .leading) {
            HStack(alignment: .firstTextBaseline) {
                Text(dog.number)
                Text(dog.name).font(.title3).bold()
                Text(dog.handler)
                Spacer()
                if let measure = dog.measure { Text(measure) }
            }
            Text(dog.chip).font(.body.monospacedDigit())
        }
        .accessibilityElement(children: .combine)
    }
}
#endif
