#if canImport(SwiftUI)
import StandsquareModel
import SwiftUI

/// Our own number keys, large enough for cold fingers.
struct PadView: View {
    private let pad: PadState
    private let name: String
    private let onEnter: (String) -> Void
    private let onClose: (@MainActor () -> Void)?
    @State private var typed: TypedDigits
    @State private var shown: Bool
    @Environment(\.palette) private var palette

    /// - Parameters:
    ///   - name: for tests.
    ///   - onEnter: takes what was typed.
    ///   - onClose: closes the pad; without it the pad stays.
    init(
        pad: PadState, name: String, onEnter: @escaping (String) -> Void,
        onClose: (@MainActor () -> Void)? = nil
    ) {
        self.pad = pad
        self.name = name
        self.onEnter = onEnter
        self.onClose = onClose
        _typed = State(initialValue: TypedDigits(pad.digits))
        _shown = State(initialValue: !pad.secret)
    }

    var body: some View {
        VStack(spacing: 8) {
            HStack {
                Text(shown ? typed.text : String(repeating: "●", count: typed.text.count))
                    .font(.title.monospacedDigit())
                    .frame(maxWidth: .infinity, minHeight: Height.touch)
                    .accessibilityLabel(pad.typed[typed.text.count])
                    .accessibilityIdentifier("\(name).typed")
                if pad.mayShow {
                    mark(shown ? "eye.slash" : "eye", shown ? pad.hide : pad.show) {
                        shown.toggle()
                    }
                }
                if let onClose { mark("xmark", pad.close, onClose) }
            }
            ForEach([[1, 2, 3], [4, 5, 6], [7, 8, 9]], id: \.self) { row in
                HStack(spacing: 8) { ForEach(row, id: \.self) { key($0) } }
            }
            HStack(spacing: 8) {
                mark("delete.left", pad.back) { typed.back() }
                key(0)
                mark("checkmark", pad.enter) { hand(typed.enter()) }
                    .disabled(!typed.mayEnter)
            }
        }
    }

    private func key(_ digit: Int) -> some View {
        Button(String(digit)) { hand(typed.press(digit)) }
            .font(.title.bold())
            .buttonStyle(TouchStyle(pair: palette.page, height: Height.key))
            .accessibilityIdentifier("\(name).\(digit)")
    }

    /// A key that shows only a mark, with its name for who does not see it.
    private func mark(
        _ symbol: String, _ spoken: String, _ action: @escaping @MainActor () -> Void
    ) -> some View {
        Button(action: action) { Image(systemName: symbol) }
            .buttonStyle(TouchStyle(pair: palette.page, height: Height.key))
            .accessibilityLabel(spoken)
    }

    private func hand(_ whole: String?) {
        if let whole { onEnter(whole) }
    }
}
#endif
