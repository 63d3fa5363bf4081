/// The colours of one look, as on Android: a test compares the two lists. Nothing is said by
/// colour alone; every mood has a mark and words as well.
public struct Palette: Sendable, Hashable {
    /// A colour with what is written on it, `0xRRGGBB` each; the tests hold each pair to 7:1
    /// (WCAG 2.2, 1.4.6).
    public struct Pair: Sendable, Hashable {
        public let ground: UInt32
        public let ink: UInt32

        init(_ ground: UInt32, _ ink: UInt32) {
            self.ground = ground
            self.ink = ink
        }
    }

    /// The screen.
    public let page: Pair
    /// A card on it.
    public let card: Pair
    /// Second-rank words on page or card.
    public let soft: UInt32
    /// Lines and borders; 3:1 against page and card (WCAG 2.2, 1.4.11).
    public let line: UInt32
    /// The main act.
    public let main: Pair
    /// Two acts that are equally likely.
    public let equal: Pair
    /// Ends the dog for today.
    public let stop: Pair
    /// As hoped.
    public let good: Pair
    /// Look at this.
    public let care: Pair
    /// This does not go on.
    public let bad: Pair
    /// The demo's mark.
    public let demo: Pair
    /// The hoop in drawings.
    public let hoop: UInt32
    /// The dog in drawings.
    public let dog: UInt32

    /// For full sun: as much light and as hard an edge as the glass can give.
    public static let sun = Palette(
        page: Pair(0xFFFFFF, 0x0A1410),
        card: Pair(0xF1F4EE, 0x0A1410),
        soft: 0x303B35,
        line: 0x46524B,
        main: Pair(0xFFC61A, 0x0A1410),
        equal: Pair(0x0B3A4D, 0xFFFFFF),
        stop: Pair(0xFFFFFF, 0x7A0C10),
        good: Pair(0xD6F0D2, 0x08351A),
        care: Pair(0xFFE9AE, 0x3B2600),
        bad: Pair(0xFBD9D6, 0x5C0509),
        demo: Pair(0x0A1410, 0xFFD34D),
        hoop: 0xB4540A,
        dog: 0x34423B)

    /// For halls and evenings: dim, so that the eyes stay used to the dark.
    public static let dark = Palette(
        page: Pair(0x0B100E, 0xF3F6F1),
        card: Pair(0x18211D, 0xF3F6F1),
        soft: 0xC9D2CC,
        line: 0x8B9A92,
        main: Pair(0xFFC61A, 0x0A1410),
        equal: Pair(0xBDE6F5, 0x06222E),
        stop: Pair(0x0B100E, 0xFFB3AD),
        good: Pair(0x0C3B1E, 0xD5F5D6),
        care: Pair(0x4A3400, 0xFFEBB8),
        bad: Pair(0x560B10, 0xFFE1DE),
        demo: Pair(0xFFD34D, 0x0A1410),
        hoop: 0xFFA04A,
        dog: 0xB9C6BE)

    /// The colours of a mood.
    public func pair(_ mood: Mood) -> Pair {
        switch mood {
        case .good: good
        case .care: care
        case .bad: bad
        }
    }

    /// The colours of a button's weight.
    public func pair(_ weight: Weight) -> Pair {
        switch weight {
        case .main: main
        case .equal: equal
        case .stop: stop
        case .other, .quiet: page
        }
    }
}
