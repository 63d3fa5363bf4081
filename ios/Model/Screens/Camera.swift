import StandsquareCore

/// How the phone's camera stands.
public enum Sight: Sendable, Hashable, CaseIterable {
    /// Not yet there, or the person is being asked.
    case starting
    /// Its picture is on the glass.
    case seeing
    /// The same, and it has a light.
    case seeingWithLight
    /// The person does not let the app use it.
    case denied
    /// There is none that the app could use.
    case none
    /// Another app has it, or it failed.
    case taken
}

/// Codes read with the phone's own camera: what stands round its picture.
public struct CameraState: Sendable, Hashable {
    /// On the button that opens it.
    public let open: String
    public let close: String
    /// What its picture is, for who does not see it.
    public let alt: String
    public let lightOn: String
    public let lightOff: String
    /// Whether codes are taken now: not while there is an answer to be read.
    public let isReading: Bool
    /// What opening it does first; nothing where there is no answer to be put away.
    public let again: Tap?
    let entry: TextEntry
    private let troubles: [Sight: NoticeState]
    private let hints: [Sight: String]

    init(_ check: SlipCheckScreen, _ entry: TextEntry, _ d: Drawing) {
        open = d.words("ui.camera.open")
        close = d.words("ui.camera.close")
        alt = d.words("ui.camera.alt")
        lightOn = d.words("ui.camera.light_on")
        lightOff = d.words("ui.camera.light_off")
        isReading = check.answer == nil
        again = check.answer == nil ? nil : d.tap(.openSlipCheck)
        self.entry = entry
        troubles = [
            .denied: d.notice(.care, d.words("ui.camera.denied")),
            .none: d.notice(.care, d.words("ui.camera.none")),
            .taken: d.notice(.care, d.words("ui.camera.taken")),
        ]
        let how = d.words("ui.camera.how")
        hints = [
            .starting: d.words("ui.camera.starting"), .seeing: how, .seeingWithLight: how,
        ]
    }

    /// What the camera cannot do, and what to do about it.
    public func trouble(_ sight: Sight) -> NoticeState? { troubles[sight] }

    /// What to do, where nothing else is to be said.
    public func hint(_ sight: Sight) -> String { hints[sight] ?? "" }

    /// The tap that hands a code's text over.
    public func tap(text: String) -> Tap { entry.tap(text: text) }
}

extension GlassState {
    /// The camera, on a screen that takes codes.
    public var camera: CameraState? {
        if case .slipCheck(let check) = screen { check.camera } else { nil }
    }
}
