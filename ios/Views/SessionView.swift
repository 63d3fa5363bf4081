#if canImport(SwiftUI)
import StandsquareModel
import SwiftUI

/// The app from its start: opening, the session, or why it cannot be opened.
public struct OpeningView: View {
    private let opening: Opening
    private let tilt: () -> (xMdeg: Int32, yMdeg: Int32)?

    public init(opening: Opening, tilt: @escaping () -> (xMdeg: Int32, yMdeg: Int32)?) {
        self.opening = opening
        self.tilt = tilt
    }

    public var body: some View {
        switch opening {
        case .underWay(let text): ProgressView(text)
        case .done(let model): SessionView(model: model, tilt: tilt)
        case .failed(let fault): FaultView(fault: fault).padding()
        }
    }
}

/// The whole glass: the dog in hand above, the screen, what could hurt, and the buttons below,
/// where the thumb of the hand that holds the phone is.
public struct SessionView: View {
    @Bindable private var model: SessionModel
    private let tilt: () -> (xMdeg: Int32, yMdeg: Int32)?

    /// - Parameters:
    ///   - model: the session.
    ///   - tilt: the phone's own tilt, thousandths of a degree.
    public init(model: SessionModel, tilt: @escaping () -> (xMdeg: Int32, yMdeg: Int32)?) {
        self.model = model
        self.tilt = tilt
    }

    public var body: some View {
        let glass = model.glass
        VStack(spacing: 0) {
            HeaderView(glass: glass)
            ScrollView {
                VStack(alignment: .leading, spacing: 16) {
                    if let fault = model.fault { FaultView(fault: fault) }
                    if let notice = glass.notice { Banner(mood: notice.mood, text: notice.text) }
                    ForEach(glass.cautions, id: \.self) { Banner(mood: .care, text: $0) }
                    ScreenView(screen: glass.screen, send: send)
                }
                .padding()
            }
            ButtonsView(buttons: glass.buttons, send: press)
        }
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

    public init(fault: FaultState) {
        self.fault = fault
    }

    public var body: some View {
        VStack(alignment: .leading, spacing: 8) {
            Heading(text: fault.title)
            Banner(mood: .bad, text: fault.text)
            Text(fault.comfort)
        }
    }
}

/// Which screen.
struct ScreenView: View {
    let screen: ScreenState
    let send: (Tap) -> Void

    var body: some View {
        switch screen {
        case .home(let state): HomeView(state: state)
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
        case .bookLine(let state): PairsView(heading: state.instruction, pairs: state.cells)
        case .tell(let state): PointsView(heading: state.instruction, points: state.lines)
        case .stop(let state): ChoicesView(choices: state.reasons, send: send)
        case .correct(let state): CorrectView(state: state, send: send)
        case .newcomer(let state): NewcomerView(state: state, send: send)
        case .handOver(let state): HandOverView(state: state)
        case .close(let state): CloseView(state: state)
        case .sent(let state): SentView(state: state)
        case .readers(let state): ReadersView(state: state, send: send)
        }
    }
}

/// What stays above: the league, the mark of an invented one, the title, the dog in hand, how
/// the reader and the outbox stand.
struct HeaderView: View {
    let glass: GlassState

    var body: some View {
        VStack(alignment: .leading, spacing: 4) {
            HStack {
                Text(glass.league)
                Spacer()
                if let mark = glass.mark { Text(mark).bold() }
            }
            .font(.caption)
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
        .background(.thinMaterial)
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
