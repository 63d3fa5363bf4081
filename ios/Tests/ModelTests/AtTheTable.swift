import Foundation
import StandsquareCore
import Testing

@testable import StandsquareModel

/// The session as a finger does it, through the model, over the real core.
@MainActor
@Suite struct AtTheTable {
    @Test func aRoutineDogIsMeasuredAndSigned() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.toTheSignatures()
        guard case .sign(let sign) = table.glass.screen else { throw Stray(table.glass) }
        #expect(
            sign.height == table.words("height.within", ["within": .length(um: 350_000)]))
        #expect(sign.seats.map(\.id) == Table.pins.map(\.0))
        for (person, pin) in Table.pins { try await table.sign(person, pin) }
        guard case .bookLine(let line) = table.glass.screen else { throw Stray(table.glass) }
        #expect(line.cells.count >= 5)
        try await table.press("book_written")
        guard case .tell(let tell) = table.glass.screen else { throw Stray(table.glass) }
        // Twelve to 24 months after the first, which is today: 25 November 2026.
        #expect(
            tell.lines.contains(
                table.words(
                    "tell.second_due",
                    ["from": .day(iso: "2027-11-25"), "to": .day(iso: "2028-11-25")])))
        try await table.press("handler_told")
        guard case .queue(let queue) = table.glass.screen else { throw Stray(table.glass) }
        #expect(queue.done.dogs.map(\.id) == ["pip"])
        #expect(table.glass.outbox.waiting == 1)
        #expect(await table.platform.signals.contains(.chipMatches))
    }

    @Test func aWrongPinSignsNothing() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.toTheSignatures()
        try await table.sign("ottoline", "1357")
        #expect(table.glass.notice?.mood == .bad)
        #expect(table.glass.notice?.text.contains("Ottoline Marsh") == true)
        guard case .sign(let sign) = table.glass.screen else { throw Stray(table.glass) }
        #expect(sign.seats.allSatisfy { $0.entry != nil })
        #expect(await table.platform.signals.last == .refused)
    }

    @Test func theFirstMeasurersPinDoesNotSignForTheSecond() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.toTheSignatures()
        try await table.sign("ottoline", "4711")
        try await table.sign("bram", "4711")
        #expect(table.glass.notice?.mood == .bad)
        guard case .sign(let sign) = table.glass.screen else { throw Stray(table.glass) }
        #expect(sign.seats.map { $0.entry == nil } == [true, false])
    }

    @Test func anotherDogsChipStopsTheDogWithAChoice() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.toTheChip("pip")
        for bytes in try Recorded.wrongScan() { await table.model.readerBytes(bytes) }
        guard case .chip(let chip) = table.glass.screen else { throw Stray(table.glass) }
        #expect(chip.said.mood == .bad)
        let rows = try #require(chip.compared).rows
        #expect(rows.count == 2)
        #expect(rows.allSatisfy { row in row.spans.contains { $0.differs } })
        let book = rows[0].spans.map(\.text).joined()
        #expect(book == table.glass.dog?.chip.replacing(" ", with: ""))
        #expect(table.glass.button("scan_again") != nil)
        #expect(table.glass.button("not_today")?.weight == .stop)
        #expect(table.glass.button("settled") == nil)
        #expect(await table.platform.signals.last == .chipDiffers)
    }

    @Test func aReaderThatVanishesHalfWayThroughANumberGivesNone() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.toTheChip("pip")
        let scan = try Recorded.scan(of: "pip")
        for bytes in scan.dropLast() { await table.model.readerBytes(bytes) }
        await table.model.readerLink(.lost, name: "")
        #expect(table.glass.reader.link == .lost)
        #expect(table.glass.reader.name == "Table reader")
        await table.model.readerLink(.connected, name: "Table reader")
        for bytes in scan.suffix(1) { await table.model.readerBytes(bytes) }
        guard case .chip(let half) = table.glass.screen else { throw Stray(table.glass) }
        #expect(half.reads.isEmpty)
        try await table.scan("pip")
        #expect(table.glass.button("settled") != nil)
    }

    @Test func aSecondTapOnTheSameGlassDoesNothing() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.toTheChip("pip")
        try await table.scan("pip")
        try await table.press("settled")
        try await table.press("stands_square")
        let tap = try #require(table.glass.button("base_not_flat")).tap
        await table.model.send(tap)
        let after = table.glass
        await table.model.send(tap)
        #expect(table.glass.screen == after.screen)
        #expect(table.glass.buttons == after.buttons)
    }

    @Test func tapsAreAnsweredInTheOrderTheyWereMade() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.toTheChip("pip")
        // All on their way at once: the number is whole only if no piece overtakes another.
        let model = table.model
        let sends = try Recorded.scan(of: "pip").map { bytes in
            Task { await model.readerBytes(bytes) }
        }
        for send in sends { await send.value }
        #expect(table.glass.button("settled") != nil)
    }

    @Test func aButtonThatCannotBeUsedSaysWhy() async throws {
        let table = try await Table()
        let start = try #require(table.glass.button("start_session"))
        #expect(!start.enabled)
        #expect(start.whyNot?.isEmpty == false)
        await table.model.send(start.tap)
        #expect(table.glass.notice?.mood == .bad)
        guard case .home = table.glass.screen else { throw Stray(table.glass) }
    }

    @Test func theReturnWaitsWhereTheOfficeIsOutOfReach() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.toTheSignatures()
        for (person, pin) in Table.pins { try await table.sign(person, pin) }
        for id in ["book_written", "handler_told", "review_close", "close_session", "send_return"] {
            try await table.press(id)
        }
        await table.model.answered()
        #expect(await table.platform.asked.count == 1)
        guard case .sent(let sent) = table.glass.screen else { throw Stray(table.glass) }
        #expect(sent.rows.map(\.whereabouts) == [table.words("ui.where.on_phone")])
        #expect(table.glass.outbox.waiting == 1)
        #expect(table.glass.button("send_return")?.enabled == true)
    }

    @Test func anAnswerThatTheOfficeDidNotSignCountsForNothing() async throws {
        let table = try await Table(
            PlayedPlatform(office: .answered(status: 200, body: Data("thank you".utf8))))
        try await table.setUp()
        try await table.toTheSignatures()
        for (person, pin) in Table.pins { try await table.sign(person, pin) }
        for id in ["book_written", "handler_told", "review_close", "close_session", "send_return"] {
            try await table.press(id)
        }
        await table.model.answered()
        #expect(table.glass.outbox.waiting == 1)
        #expect(table.glass.notice?.mood == .bad)
    }

    @Test func theReturnIsShared() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.toTheSignatures()
        for (person, pin) in Table.pins { try await table.sign(person, pin) }
        for id in ["book_written", "handler_told", "review_close", "close_session", "share_return"] {
            try await table.press(id)
        }
        let file = try #require(await table.platform.shared.first)
        #expect(file.name.hasSuffix(".csv"))
        let csv = try await table.gateway.returnCsv()
        #expect(String(decoding: file.content, as: UTF8.self) == csv)
    }
}
