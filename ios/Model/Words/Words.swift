import Foundation
import StandsquareCore

/// The words for the core's message keys, in one language: `bindings/words/*.json`, the same
/// file on both kinds of phone. `bindings/words/README.md` says what is in it.
public struct Words: Sendable {
    /// Why a words file cannot be used.
    public enum Fault: Error, Equatable {
        /// Not a flat JSON object of texts; the reason names what is wrong.
        case unreadable(reason: String)
        /// A key that every words file must have is not there.
        case lacking(key: String)
        /// A plural rule that this code does not know.
        case unknownPlural(rule: String)
    }

    /// When the words of `KEY.one` are used.
    enum Plural: String, Sendable {
        case oneIsOne = "one-is-1"
        case oneIsNoneOrOne = "one-is-0-and-1"

        func form(of count: Int64) -> String {
            switch self {
            case .oneIsOne: count == 1 ? "one" : "other"
            case .oneIsNoneOrOne: (0...1).contains(count) ? "one" : "other"
            }
        }
    }

    /// The language, as in the file's name: `en`.
    public let language: String
    /// The language's name in itself.
    public let languageName: String
    let dayPattern: String
    let decimalMark: String
    private let plural: Plural
    private let entries: [String: String]

    /// Reads a words file.
    ///
    /// - Parameters:
    ///   - json: the file's content.
    ///   - language: the file's name without its ending; months are written in it.
    public init(json: Data, language: String) throws {
        let entries: [String: String]
        do {
            entries = try JSONDecoder().decode([String: String].self, from: json)
        } catch {
            throw Fault.unreadable(reason: String(describing: error))
        }
        func needed(_ key: String) throws -> String {
            guard let text = entries[key] else { throw Fault.lacking(key: key) }
            return text
        }
        languageName = try needed("format.language")
        dayPattern = try needed("format.day")
        decimalMark = try needed("format.decimal")
        let rule = try needed("format.plural")
        guard let plural = Plural(rawValue: rule) else { throw Fault.unknownPlural(rule: rule) }
        self.plural = plural
        self.entries = entries
        self.language = language
    }

    /// A message in words. A key that the file lacks shows as itself, in brackets, so that
    /// nothing the core says is ever silent; a test holds that this does not happen.
    public func callAsFunction(_ text: Text) -> String {
        guard let template = template(text) else { return "[\(text.key)]" }
        var out = ""
        var rest = template[...]
        while let open = rest.firstIndex(of: "{"), let close = rest[open...].firstIndex(of: "}") {
            let name = rest[rest.index(after: open)..<close]
            out += rest[..<open]
            out += text.value(name).map(shown) ?? "{\(name)}"
            rest = rest[rest.index(after: close)...]
        }
        return out + rest
    }

    private func template(_ text: Text) -> String? {
        if let plain = entries[text.key] { return plain }
        guard let counter = entries["\(text.key).count"] else { return nil }
        let count: Int64 = if case .count(let n) = text.value(counter[...]) { n } else { 0 }
        return entries["\(text.key).\(plural.form(of: count))"]
    }

    private func shown(_ value: ArgValue) -> String {
        switch value {
        case .plain(let text): text
        case .count(let n): String(n)
        case .length(let um): centimetres(um: um)
        case .day(let iso): day(iso)
        case .word(let key): self(key)
        }
    }

    /// A message of the screens' own, with values that are shown as they are.
    func callAsFunction(_ key: String, _ values: KeyValuePairs<String, ArgValue> = [:]) -> String {
        self(Text(key: key, args: values.map { Arg(name: $0.key, value: $0.value) }))
    }

    func callAsFunction(_ text: Text?) -> String? {
        text.map { self($0) }
    }

    func callAsFunction(_ texts: [Text]) -> [String] {
        texts.map { self($0) }
    }
}

extension Text {
    fileprivate func value(_ name: Substring) -> ArgValue? {
        self.args.first { $0.name == name }?.value
    }
}

extension ArgValue {
    static func plain(_ text: String) -> ArgValue { .plain(text: text) }

    static func count(_ n: UInt32) -> ArgValue { .count(n: Int64(n)) }
}
