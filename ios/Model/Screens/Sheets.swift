import Foundation
import StandsquareCore

/// A sheet to print, in words.
public struct SheetState: Sendable, Hashable {
    public struct Block: Sendable, Hashable {
        public let heading: String?
        public let pairs: [PairState]
        public let below: [String]
        public let beside: CodeState?
    }

    /// The name of its file.
    public let name: String
    public let top: String
    public internal(set) var blocks: [Block]
    public let foot: String
    /// The paper, millimetres.
    public let widthMm: Int
    public let heightMm: Int

    init(_ name: String, _ sheet: Sheet, _ d: Drawing) {
        self.name = name
        top = d.words(sheet.top)
        blocks = sheet.blocks.map { block in
            Block(
                heading: d.words(block.heading), pairs: block.pairs.map { PairState($0, d) },
                below: d.words(block.below),
                beside: block.beside.map { CodeState($0, said: d.words("ui.slip.code")) })
        }
        foot = d.words(sheet.foot)
        widthMm = Int(sheet.widthMm)
        heightMm = Int(sheet.heightMm)
    }
}

/// Something on a page; places are points from the upper left corner, of words their baseline.
public enum Ink: Sendable, Hashable {
    case line(x: Double, y: Double, size: Double, bold: Bool, text: String)
    /// A code's upper left corner, and the side of one of its modules.
    case code(x: Double, y: Double, module: Double, code: CodeState)
}

/// A sheet laid out: a block stays together where a page has room for it.
public struct LaidSheet: Sendable, Hashable {
    /// The paper's size in points (1/72 inch).
    public let width: Double
    public let height: Double
    public let pages: [[Ink]]

    /// - Parameters:
    ///   - sheet: what is on it.
    ///   - ruler: the width of words in this size, bold or not: what the platform's own canvas knows.
    public init(_ sheet: SheetState, ruler: @escaping (String, Double, Bool) -> Double) {
        var layout = Layout(sheet, ruler)
        pages = layout.lay()
        width = layout.width
        height = layout.height
    }
}

private struct Layout {
    let sheet: SheetState
    let ruler: (String, Double, Bool) -> Double
    let width: Double
    let height: Double
    let margin: Double
    let bottom: Double
    var pages: [[Ink]] = []
    var y = 0.0

    static let title = 15.0
    static let heading = 11.5
    static let body = 9.5
    static let small = 8.0
    static let leading = 1.35

    var inner: Double { width - 2 * margin }

    init(_ sheet: SheetState, _ ruler: @escaping (String, Double, Bool) -> Double) {
        self.sheet = sheet
        self.ruler = ruler
        width = Double(sheet.widthMm) * 72 / 25.4
        height = Double(sheet.heightMm) * 72 / 25.4
        margin = width * 0.08
        bottom = height - margin - Self.small * Self.leading * 1.5
    }

    mutating func lay() -> [[Ink]] {
        page()
        write(sheet.top, Self.title, bold: true)
        for (n, block) in sheet.blocks.enumerated() {
            let needs = heightOf(block)
            // The heading never stands alone.
            if n > 0, y + needs > bottom, needs <= bottom - margin { page() }
            put(block)
        }
        for n in pages.indices {
            let number = pages.count > 1 ? " · \(n + 1)/\(pages.count)" : ""
            pages[n].append(
                .line(
                    x: margin, y: height - margin, size: Self.small, bold: false,
                    text: sheet.foot + number))
        }
        return pages
    }

    private mutating func page() {
        pages.append([])
        y = margin
    }

    /// What a block takes, found by laying a copy out on paper without an end.
    private func heightOf(_ block: SheetState.Block) -> Double {
        var trial = self
        trial.y = -1e9
        trial.put(block)
        return trial.y + 1e9
    }

    private mutating func put(_ block: SheetState.Block) {
        y += Self.body
        if let code = block.beside { put(code) }
        if let heading = block.heading { write(heading, Self.heading, bold: true) }
        let beside = inner * 0.34
        for pair in block.pairs {
            let (top, before) = (y, pages.count)
            write(pair.label, Self.body, bold: false, width: beside - Self.body)
            let label = y
            // Both begin on one line, also where that is the first one of a page.
            y = pages.count == before ? top : margin
            let during = pages.count
            write(pair.value, Self.body, bold: true, x: margin + beside, width: inner - beside)
            if pages.count == during { y = max(y, label) }
        }
        let below = block.below.map { $0.hasSuffix(".") ? String($0.dropLast()) : $0 }
        if !below.isEmpty {
            y += Self.small / 2
            write(below.joined(separator: " · "), Self.small, bold: false)
        }
    }

    /// Large enough for any camera, with its four modules of light below it.
    private mutating func put(_ code: CodeState) {
        let module = inner * 0.46 / Double(code.side)
        if y + module * Double(code.side) > bottom { page() }
        pages[pages.count - 1].append(
            .code(x: (width - module * Double(code.side)) / 2, y: y, module: module, code: code))
        y += module * Double(code.side + 4)
    }

    private mutating func write(
        _ text: String, _ size: Double, bold: Bool, x: Double? = nil, width: Double? = nil
    ) {
        for line in wrapped(text, size, bold, width ?? inner) {
            if y + size * Self.leading > bottom { page() }
            y += size * Self.leading
            pages[pages.count - 1].append(
                .line(x: x ?? margin, y: y, size: size, bold: bold, text: line))
        }
    }

    private func wrapped(_ text: String, _ size: Double, _ bold: Bool, _ width: Double) -> [String] {
        var lines = [""]
        for word in text.split(separator: " ", omittingEmptySubsequences: false) {
            let last = lines[lines.count - 1]
            let longer = last.isEmpty ? String(word) : last + " " + word
            if last.isEmpty || ruler(longer, size, bold) <= width {
                lines[lines.count - 1] = longer
            } else {
                lines.append(String(word))
            }
        }
        return lines
    }
}
