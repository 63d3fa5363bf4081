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

    public init(language: Language = .english, look: Look = .sun) {
        self.language = language
        self.look = look
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
    }

    /// To be kept, for example `de dark`.
    public var kept: String { "\(language.rawValue) \(look.rawValue)" }
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

    public let look: Look
    /// What the button that changes the look is called.
    public let changeLook: String
    public let heading: String
    public let languages: [Choice]

    init(_ looks: Looks, _ shelf: Shelf) {
        let words = shelf.words(looks.language)
        look = looks.look
        changeLook = looks.look == .sun ? words("ui.look.to_dark") : words("ui.look.to_sun")
        heading = words("ui.language")
        languages = Language.allCases.map {
            Choice(
                language: $0, name: shelf.words($0).languageName, chosen: $0 == looks.language)
        }
    }
}
