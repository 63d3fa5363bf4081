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
    private let press: @MainActor (_ up: Bool) -> Void
    private var reads = false
    private var listens = false

    /// `press`: one of a clicker's two keys, for up or for down. (The volume keys are not an
    /// app's to use on iOS: the store's guidelines, 2.5.9, refuse it.)
    public init(
        out: @escaping @MainActor (Data) -> Void, press: @escaping @MainActor (_ up: Bool) -> Void
    ) {
        self.out = out
        self.press = press
        super.init(frame: .zero)
    }

    @available(*, unavailable)
    required init?(coder: NSCoder) { nil }

    public override var canBecomeFirstResponder: Bool { true }

    /// Takes the focus while this reader is wanted or a clicker listened to, and gives it back
    /// otherwise.
    public func follow(_ reader: ReaderState, listensToKeys: Bool) {
        reads = reader.wanted?.way == .keys
        listens = listensToKeys
        if reads || listens {
            if !isFirstResponder { becomeFirstResponder() }
        } else if isFirstResponder {
            resignFirstResponder()
        }
    }

    public override func pressesBegan(_ presses: Set<UIPress>, with event: UIPressesEvent?) {
        // Several keys of one event come in no order; a reader's come one by one.
        for key in presses.sorted(by: { $0.timestamp < $1.timestamp }).compactMap(\.key) {
            switch key.keyCode {
            case .keyboardPageUp where listens, .keyboardUpArrow where listens:
                press(true)
                continue
            case .keyboardPageDown where listens, .keyboardDownArrow where listens:
                press(false)
                continue
            default: break
            }
            guard reads else { continue }
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
