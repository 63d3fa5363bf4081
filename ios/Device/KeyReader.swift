#if canImport(UIKit)
import StandsquareModel
import UIKit

/// A reader that types like a keyboard: a view that takes the key strokes whenever no field on the
/// screen wants them. The bytes are for the core; here none is looked at.
///
/// iOS does not tell one keyboard from another, so all of them are one reader.
@MainActor
public final class KeyReader: UIView {
    /// What the session knows it by.
    public static let id = "keys"

    private let capture = KeyCapture()
    private let out: @MainActor (Data) -> Void

    public init(out: @escaping @MainActor (Data) -> Void) {
        self.out = out
        super.init(frame: .zero)
    }

    @available(*, unavailable)
    required init?(coder: NSCoder) { nil }

    public override var canBecomeFirstResponder: Bool { true }

    /// Takes the focus while this reader is wanted, and gives it back otherwise.
    public func follow(_ reader: ReaderState) {
        if reader.wanted?.way == .keys {
            if !isFirstResponder { becomeFirstResponder() }
        } else if isFirstResponder {
            resignFirstResponder()
        }
    }

    public override func pressesBegan(_ presses: Set<UIPress>, with event: UIPressesEvent?) {
        // Several keys of one event come in no order; a reader's come one by one.
        for key in presses.sorted(by: { $0.timestamp < $1.timestamp }).compactMap(\.key) {
            let bytes =
                switch key.keyCode {
                case .keyboardReturnOrEnter, .keypadEnter: capture.bytes(.enter)
                case .keyboardTab: capture.bytes(.tab)
                default: capture.bytes(characters: key.characters)
                }
            if !bytes.isEmpty { out(bytes) }
        }
    }
}
#endif
