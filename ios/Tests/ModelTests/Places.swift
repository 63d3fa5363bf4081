import Foundation
import StandsquareModel

/// Where things are in the checkout: the same files that Rust and Kotlin test against.
enum Places {
    static let checkout = URL(fileURLWithPath: #filePath)
        .deletingLastPathComponent().deletingLastPathComponent()
        .deletingLastPathComponent().deletingLastPathComponent()

    static let recorded = checkout.appending(path: "tests/recorded")

    /// The names of every recorded session on file.
    static let recordings: [String] = {
        let names = (try? FileManager.default.contentsOfDirectory(atPath: recorded.path)) ?? []
        return names.filter { $0.hasSuffix(".json") && !$0.hasSuffix(".session.json") }
            .map { String($0.dropLast(".json".count)) }
            .sorted()
    }()

    /// Those in which most acts are taken: of a day of refusals hardly anything is durable, and
    /// its office answers wrongly before it answers well.
    static let days = recordings.filter { $0 != "every-refusal" }

    /// Those with dogs to send: in the other one the whole list waits for a signature from paper.
    /// Nor that in which time enough passes that the phone sends before it is told to: what its
    /// office answers belongs to the last of several requests.
    static let sent = days.filter {
        // What these send in between, or what another phone sent for them, has no receipt.
        ![
            "another-dogs", "pairing", "key-lost", "signed-elsewhere", "list-elsewhere",
            "signed-for-other", "copies", "two-phones", "settled-late",
        ].contains($0)
    }

    static func replay(_ name: String) throws -> Replay {
        try Replay(
            text: String(contentsOf: recorded.appending(path: "\(name).json"), encoding: .utf8))
    }

    /// `session.json` as Rust recorded it.
    static func sessionJson(_ name: String) throws -> String {
        try String(contentsOf: recorded.appending(path: "\(name).session.json"), encoding: .utf8)
    }

    /// The Swift files of the model.
    static let modelSources: [URL] = {
        let folder = checkout.appending(path: "ios/Model")
        let all = FileManager.default.enumerator(at: folder, includingPropertiesForKeys: nil)
        return (all?.compactMap { $0 as? URL } ?? []).filter { $0.pathExtension == "swift" }
    }()

    /// The languages there are words in.
    static let languages: [String] = {
        let folder = checkout.appending(path: "bindings/words").path
        let names = (try? FileManager.default.contentsOfDirectory(atPath: folder)) ?? []
        return names.filter { $0.hasSuffix(".json") }.map { String($0.dropLast(5)) }.sorted()
    }()

    static func shelf() throws -> Shelf {
        try Shelf(folder: checkout.appending(path: "bindings/words"))
    }

    static func words(_ language: String = "en") throws -> Words {
        try Words(
            json: Data(contentsOf: checkout.appending(path: "bindings/words/\(language).json")),
            language: language)
    }

    /// The folder that `swift test` builds programs into.
    static let products: URL = {
        #if os(macOS)
            Bundle.allBundles.first { $0.bundlePath.hasSuffix(".xctest") }!.bundleURL
                .deletingLastPathComponent()
        #else
            Bundle.main.bundleURL
        #endif
    }()
}

/// A folder of a test's own, gone with it.
final class Folder {
    let url: URL

    init() throws {
        url = FileManager.default.temporaryDirectory
            .appending(path: "standsquare-\(UUID().uuidString)", directoryHint: .isDirectory)
        try FileManager.default.createDirectory(at: url, withIntermediateDirectories: true)
    }

    deinit {
        try? FileManager.default.removeItem(at: url)
    }
}
