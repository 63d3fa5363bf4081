import Foundation

/// A language there are words for; the raw value is its file's name and an ISO 639-1 code.
public enum Language: String, Sendable, Hashable, CaseIterable, Identifiable {
    case english = "en"
    case german = "de"
    case french = "fr"

    public var id: String { rawValue }

    /// The first of a person's languages, in their order (`de-AT`, `fr`), that there are words
    /// for; English if there is none.
    public static func first(of preferred: [String]) -> Language {
        for tag in preferred {
            let code = tag.prefix { $0 != "-" && $0 != "_" }.lowercased()
            if let language = Language(rawValue: code) { return language }
        }
        return .english
    }
}

/// The words of every language, as the app carries them.
public struct Shelf: Sendable {
    private let all: [Language: Words]
    private let english: Words

    /// Reads every language's file in a folder.
    ///
    /// - Throws: `Words.Fault`; `.lacking` names the file that is not there.
    public init(folder: URL) throws {
        func read(_ language: Language) throws -> Words {
            let file = folder.appending(path: "\(language.rawValue).json")
            guard let json = try? Data(contentsOf: file) else {
                throw Words.Fault.lacking(key: "words/\(language.rawValue).json")
            }
            return try Words(json: json, language: language.rawValue)
        }
        english = try read(.english)
        all = try Dictionary(
            uniqueKeysWithValues: Language.allCases.map { ($0, try read($0)) })
    }

    /// The app's own: the files lie in the bundle's folder `words`, copied there by the build.
    public static func ofBundle(_ bundle: Bundle) throws -> Shelf {
        guard let resources = bundle.resourceURL else { throw Words.Fault.lacking(key: "words") }
        return try Shelf(folder: resources.appending(path: "words"))
    }

    /// The words of a language.
    public func words(_ language: Language) -> Words { all[language] ?? english }
}
