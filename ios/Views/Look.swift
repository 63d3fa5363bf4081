#if canImport(SwiftUI)
import StandsquareModel
import SwiftUI

extension Color {
    /// `0xRRGGBB`, as the model's palette has it.
    init(rgb: UInt32) {
        func part(_ shift: UInt32) -> Double { Double((rgb >> shift) & 0xFF) / 255 }
        self.init(.sRGB, red: part(16), green: part(8), blue: part(0), opacity: 1)
    }
}

private struct PaletteKey: EnvironmentKey {
    static let defaultValue = Palette.sun
}

extension EnvironmentValues {
    /// The colours in use.
    var palette: Palette {
        get { self[PaletteKey.self] }
        set { self[PaletteKey.self] = newValue }
    }
}

/// Points. The big ones are for cold hands and gloves; nothing is lower than a cold thumb.
enum Height {
    static let touch: CGFloat = 56
    static let key: CGFloat = 60
    static let main: CGFloat = 76
    static let equal: CGFloat = 92
}

/// Something to tap: filled, with a hard edge; dashed where it may not be tapped now.
struct TouchStyle: ButtonStyle {
    let pair: Palette.Pair
    let height: CGFloat
    @Environment(\.palette) private var palette
    @Environment(\.isEnabled) private var isEnabled

    func makeBody(configuration: Configuration) -> some View {
        let shown = isEnabled ? pair : palette.card
        configuration.label
            .frame(maxWidth: .infinity, minHeight: height)
            .padding(.horizontal, 14)
            .foregroundStyle(Color(rgb: shown.ink))
            .background(Color(rgb: shown.ground), in: .rect(cornerRadius: 14))
            .overlay {
                RoundedRectangle(cornerRadius: 14)
                    .strokeBorder(
                        Color(rgb: isEnabled ? shown.ink : palette.line),
                        style: StrokeStyle(lineWidth: 2, dash: isEnabled ? [] : [6, 5]))
            }
            .opacity(configuration.isPressed ? 0.72 : 1)
    }
}

/// A plain area for things that belong together.
struct CardView<Content: View>: View {
    @ViewBuilder let content: Content
    @Environment(\.palette) private var palette

    var body: some View {
        VStack(alignment: .leading, spacing: 6) { content }
            .frame(maxWidth: .infinity, alignment: .leading)
            .padding(12)
            .background(Color(rgb: palette.card.ground), in: .rect(cornerRadius: 14))
    }
}
#endif
