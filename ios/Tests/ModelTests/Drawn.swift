import Foundation
import StandsquareCore
import Testing

@testable import StandsquareModel

/// Every glass of the recorded sessions, drawn in every language there are words in.
@Suite struct Drawn {
    /// A key without words, or a value that was not given.
    private nonisolated(unsafe) static let unsaid = /\[[a-z_]+(\.[a-z0-9_\-]+)+\]|\{[a-z_]+\}/

    @Test(arguments: Places.languages)
    func nothingIsLeftWithoutWords(language: String) throws {
        let words = try Places.words(language)
        for name in Places.recordings {
            try everyView(of: name) { step, view in
                let glass = GlassState(view, words: words)
                for text in texts(glass) {
                    #expect(!text.contains(Self.unsaid), "\(name), step \(step): \(text)")
                }
            }
        }
    }

    @Test func everyScreenIsDrawn() throws {
        let words = try Places.words()
        var drawn: Set<String> = []
        for name in Places.recordings {
            try everyView(of: name) { _, view in
                let screen = GlassState(view, words: words).screen
                drawn.formUnion(Mirror(reflecting: screen).children.compactMap(\.label))
            }
        }
        #expect(
            drawn == [
                "home", "venue", "surface", "hoops", "measurers", "pin", "queue", "papers",
                "handler", "chip", "settle", "stance", "placing", "sign", "bookLine", "tell",
                "stop", "close", "sent", "correct", "handOver", "newcomer", "unlock", "signList",
                "readers", "slip", "slipCheck", "past", "history", "settings", "incident",
                "practice", "own", "drill", "feedback", "shadow", "codes", "heard", "objection",
            ])
    }

    /// What the recorded sessions do not come to has words all the same.
    @Test(arguments: Places.languages)
    func everyKeyOfTheScreensHasWords(language: String) throws {
        let words = try Places.words(language)
        var found = 0
        for source in Places.modelSources {
            let text = try String(contentsOf: source, encoding: .utf8)
            for match in text.matches(of: /"((ui|demo)\.[a-z_.]+)"/) {
                found += 1
                let key = String(match.1)
                #expect(!words(key).hasPrefix("["), "\(source.lastPathComponent): \(key)")
            }
        }
        #expect(found > 50)
    }

    @Test(arguments: Places.recordings)
    func atMostOneButtonIsTheMainOne(name: String) throws {
        let words = try Places.words()
        try everyView(of: name) { step, view in
            let glass = GlassState(view, words: words)
            #expect(glass.buttons.count { $0.weight == .main } <= 1, "step \(step)")
            #expect(Set(glass.buttons.map(\.id)).count == glass.buttons.count, "step \(step)")
        }
    }

    @Test(arguments: Places.recordings)
    func theInventedLeagueIsMarkedOnEveryScreen(name: String) throws {
        let words = try Places.words()
        try everyView(of: name) { step, view in
            guard !view.league.isEmpty else { return }
            #expect(GlassState(view, words: words).mark == words("demo.mark"), "step \(step)")
        }
    }

    /// Calls back with the view after every step.
    private func everyView(of name: String, _ look: (Int, View) throws -> Void) throws {
        let replay = try Places.replay(name)
        let folder = try Folder()
        let phone = try replay.open(in: folder.url)
        try look(-1, try phone.view())
        for step in replay.recording.steps.indices {
            try look(step, try replay.perform(step, on: phone).view)
        }
    }
}

/// Every text in a value, however deep. What a tap carries is the core's and not shown.
private func texts(_ value: Any) -> [String] {
    if let text = value as? String { return [text] }
    if value is Tap { return [] }
    return Mirror(reflecting: value).children.flatMap { texts($0.value) }
}
