import StandsquareCore

/// Our own number keys, in words: the phone's keyboard, which learns what is typed on it, never
/// comes up for a PIN.
public struct PadState: Sendable, Hashable {
    public let enter: String
    public let back: String
    public let show: String
    public let hide: String
    public let close: String
    /// How many digits are typed, in words, by their number.
    public let typed: [String]
    /// How many digits the core takes, fewest and most.
    public let digits: ClosedRange<Int>
    /// Whether what is typed is hidden at first.
    public let secret: Bool
    /// Whether it may be shown.
    public let mayShow: Bool

    init(_ digits: ClosedRange<Int>, secret: Bool, mayShow: Bool, _ d: Drawing) {
        enter = d.words("ui.pin.enter")
        back = d.words("ui.pin.back")
        show = d.words("ui.pin.show")
        hide = d.words("ui.pin.hide")
        close = d.words("ui.pin.close")
        typed = (0...digits.upperBound).map {
            d.words("ui.pin.typed", ["count": .count(UInt32($0))])
        }
        self.digits = digits
        self.secret = secret
        self.mayShow = mayShow
    }
}

/// What is being typed on a pad: held in memory only, and forgotten as it is handed over.
public struct TypedDigits: Sendable {
    private let digits: ClosedRange<Int>
    public private(set) var text = ""

    /// - Parameter digits: fewest and most.
    public init(_ digits: ClosedRange<Int>) {
        self.digits = digits
    }

    /// Whether it is long enough to be handed over.
    public var mayEnter: Bool { digits.contains(text.count) }

    /// A digit was pressed. Gives what was typed once it is as long as it may be.
    public mutating func press(_ digit: Int) -> String? {
        guard text.count < digits.upperBound, (0...9).contains(digit) else { return nil }
        text += String(digit)
        return text.count == digits.upperBound ? enter() : nil
    }

    /// Takes the last digit back.
    public mutating func back() {
        _ = text.popLast()
    }

    /// Gives what was typed, if it is long enough.
    public mutating func enter() -> String? {
        guard mayEnter else { return nil }
        defer { text = "" }
        return text
    }
}
