import Foundation

/// A reader that types like a keyboard: each key's characters as bytes, in order, none lost.
///
/// It carries and does not read: a leading zero is a byte like any other, and Enter and Tab are
/// the bytes that end a number. What the bytes mean is for the core.
public struct KeyCapture: Sendable {
    /// What a key stroke that has no characters of its own stands for.
    public enum Key: Sendable, Hashable {
        case enter, tab
    }

    public init() {}

    /// The bytes of a key stroke's characters; none for a key that gives none (Shift, an arrow).
    public func bytes(characters: String) -> Data {
        // An arrow or a function key gives a character of the private area, which no reader types.
        let typed = characters.unicodeScalars.filter { !(0xF700...0xF8FF).contains($0.value) }
        return Data(String(String.UnicodeScalarView(typed)).utf8)
    }

    /// The byte of a key that ends a number.
    public func bytes(_ key: Key) -> Data {
        switch key {
        case .enter: Data([0x0D])
        case .tab: Data([0x09])
        }
    }
}
