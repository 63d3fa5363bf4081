import StandsquareCore

/// For full sun, or for halls and evenings.
public enum Look: String, Sendable, Hashable, CaseIterable {
    case sun, dark

    /// The other one.
    public var other: Look { self == .sun ? .dark : .sun }

    /// Its colours.
    public var palette: Palette { self == .sun ? .sun : .dark }
}

/// How the phone is to look: the person's choice, kept by the platform as one short text.
public struct Looks: Sendable, Hashable {
    public var language: Language
    public var look: Look
    /// As the phone itself is set, whatever `look` says.
    public var byPhone = false
    public var sounds = true
    public var buzzes = true

    public init(language: Language = .english, look: Look = .sun) {
        self.language = language
        self.look = look
    }

    /// After what the person chose.
    public mutating func take(_ change: LooksChange) {
        switch change {
        case .look(let other):
            look = other
            byPhone = false
        case .byPhone: byPhone = true
        case .sounds(let on): sounds = on
        case .buzzes(let on): buzzes = on
        }
    }

    /// What was kept, or, where nothing was or it cannot be read, the phone's own languages.
    ///
    /// - Parameters:
    ///   - kept: `kept` of an earlier one.
    ///   - preferred: the phone's languages in the person's order.
    public init(kept: String?, preferred: [String]) {
        let parts = (kept ?? "").split(separator: " ").map(String.init)
        language =
            parts.first.flatMap(Language.init(rawValue:)) ?? Language.first(of: preferred)
        look = parts.dropFirst().first.flatMap(Look.init(rawValue:)) ?? .sun
        let more = parts.dropFirst(2)
        byPhone = more.contains(Self.asPhone)
        sounds = !more.contains(Self.noSounds)
        buzzes = !more.contains(Self.noBuzzes)
    }

    private static let asPhone = "by-phone"
    private static let noSounds = "no-sounds"
    private static let noBuzzes = "no-buzzes"

    /// To be kept, for example `de dark`.
    public var kept: String {
        let more = [
            byPhone ? Self.asPhone : nil, sounds ? nil : Self.noSounds,
            buzzes ? nil : Self.noBuzzes,
        ]
        return ([language.rawValue, look.rawValue] + more.compactMap { $0 })
            .joined(separator: " ")
    }
}

/// What the person chose in the settings.
public enum LooksChange: Sendable, Hashable {
    case look(Look)
    case byPhone
    case sounds(Bool)
    case buzzes(Bool)
}

/// The choice, to be drawn.
public struct LooksState: Sendable, Hashable {
    /// A language, named in itself.
    public struct Choice: Sendable, Hashable, Identifiable {
        public var id: String { language.rawValue }
        public let language: Language
        public let name: String
        public let chosen: Bool
    }

    /// One way to look or to be told; the one in use is marked.
    public struct Option: Sendable, Hashable, Identifiable {
        public let id: String
        public let label: String
        public let chosen: Bool
        public let change: LooksChange
    }

    public let byPhone: Bool
    public let themeHeading: String
    public let themes: [Option]
    public let toldHeading: String
    /// Sounds and buzzes.
    public let told: [Option]
    /// How the size of type follows the phone's.
    public let typeSize: String
    public let look: Look
    /// What the button that changes the look is called.
    public let changeLook: String
    public let heading: String
    public let languages: [Choice]

    init(_ looks: Looks, _ shelf: Shelf) {
        let words = shelf.words(looks.language)
        look = looks.look
        changeLook = looks.look == .sun ? words("ui.look.to_dark") : words("ui.look.to_sun")
        byPhone = looks.byPhone
        themeHeading = words("ui.settings.theme")
        themes = [
            Option(
                id: "sun", label: words("ui.settings.theme_sun"),
                chosen: !looks.byPhone && looks.look == .sun, change: .look(.sun)),
            Option(
                id: "dark", label: words("ui.settings.theme_dark"),
                chosen: !looks.byPhone && looks.look == .dark, change: .look(.dark)),
            Option(
                id: "phone", label: words("ui.settings.theme_phone"), chosen: looks.byPhone,
                change: .byPhone),
        ]
        toldHeading = words("ui.settings.told")
        told = [
            Option(
                id: "sounds", label: words("ui.settings.sounds"), chosen: looks.sounds,
                change: .sounds(!looks.sounds)),
            Option(
                id: "buzzes", label: words("ui.settings.buzzes"), chosen: looks.buzzes,
                change: .buzzes(!looks.buzzes)),
        ]
        typeSize = words("ui.settings.type_size")
        heading = words("ui.language")
        languages = Language.allCases.map {
            Choice(
                language: $0, name: shelf.words($0).languageName, chosen: $0 == looks.language)
        }
    }
}
