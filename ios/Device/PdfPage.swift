#if canImport(UIKit)
import Foundation
import StandsquareModel
import UIKit

/// A sheet as a PDF, drawn by the phone's own canvas.
enum PdfPage {
    @MainActor
    static func pdf(_ sheet: SheetState) -> Data {
        let laid = LaidSheet(sheet) { text, size, bold in
            Double((text as NSString).size(withAttributes: attributes(size, bold)).width)
        }
        let paper = CGRect(x: 0, y: 0, width: laid.width, height: laid.height)
        return UIGraphicsPDFRenderer(bounds: paper).pdfData { context in
            for page in laid.pages {
                context.beginPage()
                for ink in page { draw(ink, context) }
            }
        }
    }

    @MainActor
    private static func draw(_ ink: Ink, _ context: UIGraphicsPDFRendererContext) {
        switch ink {
        case .line(let x, let y, let size, let bold, let text):
            let font = font(size, bold)
            // A string is drawn from its upper edge, a line is laid by its baseline.
            (text as NSString).draw(
                at: CGPoint(x: x, y: y - Double(font.ascender)),
                withAttributes: attributes(size, bold))
        case .code(let left, let top, let module, let code):
            UIColor.black.setFill()
            for y in 0..<code.side {
                for x in 0..<code.side where code.isDark(x, y) {
                    context.fill(
                        CGRect(
                            x: left + Double(x) * module, y: top + Double(y) * module,
                            width: module, height: module))
                }
            }
        }
    }

    private static func font(_ size: Double, _ bold: Bool) -> UIFont {
        bold ? .boldSystemFont(ofSize: size) : .systemFont(ofSize: size)
    }

    private static func attributes(_ size: Double, _ bold: Bool) -> [NSAttributedString.Key: Any] {
        [.font: font(size, bold)]
    }
}
#endif
