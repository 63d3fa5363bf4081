import Foundation
import StandsquareCore
import Testing

@testable import StandsquareModel

/// The chip readers through the model, over the real core, and what a radio is to do.
@MainActor
@Suite struct Readers {
    private func readers(_ table: Table) throws -> ReadersState {
        guard case .readers(let state) = table.glass.screen else { throw Stray(table.glass) }
        return state
    }

    /// What the pairing recording's reader sent between two acts.
    private func lines(_ digits: String) -> Data { Data("\(digits)\r\n".utf8) }

    @Test func aReaderIsChosenTriedOutAndKept() async throws {
        let table = try await Table()
        await table.model.loadRoster(try Recorded.roster())
        #expect(!table.glass.reader.look)
        try await table.press("open_readers")
        #expect(table.glass.reader.look)
        #expect(try readers(table).none != nil)
        await table.model.readerSeen("wand", name: "Long wand", way: .ble, signal: -55)
        await table.model.readerSeen("keys", name: "", way: .keys, signal: nil)
        await table.model.readerBattery("wand", percent: 64)
        let line = try #require(try readers(table).readers.first { $0.id == "wand" })
        #expect(line.notes.contains("64"))
        await table.model.send(try #require(line.use))
        #expect(table.glass.reader.wanted == WantedReaderState(reader: "wand", way: .ble))
        await table.model.readerLink(.connected, name: "Long wand", reader: "wand")
        #expect(try readers(table).readers.first?.link == .connected)

        let known = try #require(try readers(table).known)
        await table.model.send(known.tap(text: "999 000 000 777 001"))
        #expect(try #require(try readers(table).trial).known != nil)
        await table.model.readerBytes(lines("999000000777001"))
        let once = try #require(try readers(table).trial)
        #expect(once.number == "999 000 000 777 001")
        #expect(once.said.mood == .care)
        await table.model.readerBytes(lines("999000000777001"))
        // Two equal reads of the number that was said: nothing is left to ask.
        #expect(table.glass.notice?.mood == .good)
        try await table.press("leave_readers")
        guard case .home = table.glass.screen else { throw Stray(table.glass) }
    }

    @Test func theDogsStepWaitsUnderTheReaders() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.toTheChip("pip")
        try await table.press("open_readers")
        #expect(table.glass.dog?.name == "Pip")
        await table.model.readerBytes(lines("999000000777001"))
        try await table.press("leave_readers")
        guard case .chip(let chip) = table.glass.screen else { throw Stray(table.glass) }
        #expect(chip.reads.isEmpty)
        #expect(chip.typed != nil)
    }

    @Test func theBooksCodeFindsTheDogAndIsNoRead() async throws {
        let table = try await Table()
        try await table.setUp()
        guard case .queue(let queue) = table.glass.screen else { throw Stray(table.glass) }
        await table.model.send(try #require(queue.find).tap(text: "999000000337904"))
        #expect(table.glass.button("next_dog")?.label.contains("Juno") == true)
        try await table.press("next_dog")
        await table.model.bookCode("999000000337904")
        #expect(table.glass.notice?.mood == .care)
        guard case .papers = table.glass.screen else { throw Stray(table.glass) }
    }
}

@Suite struct KeyCaptures {
    private let capture = KeyCapture()

    @Test func leadingZerosAreBytesLikeAnyOther() {
        var sent = Data()
        for character in "036000000777001" { sent += capture.bytes(characters: String(character)) }
        sent += capture.bytes(.enter)
        #expect(sent == Data("036000000777001\r".utf8))
        #expect(capture.bytes(.tab) == Data([9]))
    }

    @Test func anotherLayoutsSignsAreCarriedAsTheyAre() {
        #expect(capture.bytes(characters: "à") == Data([0xC3, 0xA0]))
        #expect(capture.bytes(characters: "") == Data())
        // An arrow key's private character is no sign that a reader types.
        #expect(capture.bytes(characters: "\u{F700}") == Data())
    }
}

@Suite struct ReaderSearches {
    @Test func nothingIsAskedOfARadioThatIsOff() {
        var search = ReaderSearch()
        #expect(search.follow(wanted: "a", look: true).isEmpty)
        #expect(search.radio(powered: true) == [.connect("a"), .scan])
        // What was asked is not asked again.
        #expect(search.follow(wanted: "a", look: true).isEmpty)
    }

    @Test func aLostReaderIsAskedForAgain() {
        var search = ReaderSearch()
        _ = search.follow(wanted: "a", look: false)
        _ = search.radio(powered: true)
        #expect(search.lost("a") == [.connect("a")])
        // A radio switched off and on again has forgotten everything.
        #expect(search.radio(powered: false).isEmpty)
        #expect(search.radio(powered: true) == [.connect("a")])
    }

    @Test func anotherReaderIsWanted() {
        var search = ReaderSearch()
        _ = search.radio(powered: true)
        #expect(search.follow(wanted: "a", look: true) == [.connect("a"), .scan])
        #expect(search.follow(wanted: "b", look: false) == [.letGo("a"), .connect("b"), .stopScan])
        // The old one's goodbye comes late and changes nothing.
        #expect(search.lost("a").isEmpty)
    }

    @Test func whatTheSystemKeptIsNotAskedForTwice() {
        var search = ReaderSearch()
        _ = search.follow(wanted: "a", look: false)
        #expect(search.restored("a").isEmpty)
        #expect(search.radio(powered: true).isEmpty)
        var other = ReaderSearch()
        _ = other.restored("old")
        #expect(other.radio(powered: true) == [.letGo("old")])
    }
}
