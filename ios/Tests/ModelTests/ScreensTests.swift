import Foundation
import StandsquareCore
import Testing

@testable import StandsquareModel

/// Screens whose states carry more than words: what is open, what is marked, what has a weight.
@MainActor
@Suite struct ScreensTests {
    @Test func aLineOfTheBookOpensByItselfOnceSomethingIsWrong() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.call("pip")
        guard case .papers(let papers) = table.glass.screen else { throw Stray(table.glass) }
        #expect(papers.lines.allSatisfy { !$0.open && !$0.agrees && !$0.expected.isEmpty })
        let line = try #require(papers.lines.first)
        #expect(line.notSoAloud.contains(line.label))
        #expect(line.choices.map(\.chosen) == [false, false, false])
        await table.model.send(line.choices[2].tap)
        guard case .papers(let after) = table.glass.screen else { throw Stray(table.glass) }
        #expect(after.lines[0].open)
        #expect(after.lines[0].choices.map(\.chosen) == [false, false, true])
        await table.model.send(after.lines[0].choices[0].tap)
        guard case .papers(let put) = table.glass.screen else { throw Stray(table.glass) }
        #expect(put.lines[0].agrees && !put.lines[0].open)
    }

    @Test func aYesOfTheHandlerIsMarkedAndCautioned() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.call("pip")
        try await table.press("book_agrees")
        guard case .handler(let handler) = table.glass.screen else { throw Stray(table.glass) }
        let bites = try #require(handler.questions.first { $0.id == "bites" })
        #expect(bites.choices.map(\.label) == ["No", "Yes"])
        await table.model.send(bites.choices[1].tap)
        guard case .handler(let after) = table.glass.screen else { throw Stray(table.glass) }
        let said = try #require(after.questions.first { $0.id == "bites" })
        #expect(said.choices.map(\.chosen) == [false, true])
    }

    @Test func theSurfaceIsReadTwiceAndThenJudged() async throws {
        let table = try await Table()
        await table.model.loadRoster(try Recorded.roster())
        try await table.press("start_session")
        try await table.press("set_venue")
        guard case .surface(let none) = table.glass.screen else { throw Stray(table.glass) }
        #expect(none.progress == "Reading 1 of 2")
        #expect(none.outcome == nil && none.tilt == nil)
        await table.model.send(none.entry.tap(xMdeg: 420, yMdeg: -130))
        guard case .surface(let one) = table.glass.screen else { throw Stray(table.glass) }
        #expect(one.progress == "Reading 2 of 2")
        await table.model.send(one.entry.tap(xMdeg: 180, yMdeg: -310))
        guard case .surface(let two) = table.glass.screen else { throw Stray(table.glass) }
        #expect(two.progress == nil)
        #expect(two.outcome?.mood == .good)
        #expect(two.tilt?.contains("°") == true)
    }

    @Test func aTiltedSurfaceIsNotUsed() async throws {
        let table = try await Table()
        await table.model.loadRoster(try Recorded.roster())
        try await table.press("start_session")
        try await table.press("set_venue")
        for x in [Int32(9_000), -9_000] {
            guard case .surface(let surface) = table.glass.screen else { throw Stray(table.glass) }
            await table.model.send(surface.entry.tap(xMdeg: x, yMdeg: 9_000))
        }
        guard case .surface(let surface) = table.glass.screen else { throw Stray(table.glass) }
        #expect(surface.outcome?.mood == .bad)
        #expect(table.glass.button("surface_done")?.enabled != true)
        #expect(table.glass.button("level_again") != nil)
    }

    @Test func aHoopThatIsNotGoodIsMarked() async throws {
        let table = try await Table()
        try await table.toTheHoops()
        guard case .hoops(let hoops) = table.glass.screen else { throw Stray(table.glass) }
        await table.model.send(hoops.hoops[0].choices[1].tap)
        guard case .hoops(let after) = table.glass.screen else { throw Stray(table.glass) }
        #expect(after.hoops[0].choices.map(\.chosen) == [false, true])
        #expect(after.hoops[1].choices.map(\.chosen) == [false, false])
    }

    @Test func theHoopInHandIsNamedWithItsSize() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.toTheHoop()
        guard case .placing(let placing) = table.glass.screen else { throw Stray(table.glass) }
        #expect(placing.size == "35 cm")
        #expect(placing.hoop.contains("number"))
        #expect(placing.drawing != nil)
    }

    @Test func everyMessageNamesItsMark() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.toTheChip("pip")
        #expect(table.glass.cautions.allSatisfy { $0.said == table.words("ui.caution") })
        #expect(!table.glass.cautions.isEmpty)
        for bytes in try Recorded.wrongScan() { await table.model.readerBytes(bytes) }
        guard case .chip(let chip) = table.glass.screen else { throw Stray(table.glass) }
        #expect(chip.said.said == table.words("ui.tone.bad"))
    }

    @Test func aRosterThatIsNoneIsRefusedInWords() async throws {
        let table = try await Table()
        await table.model.loadRoster("{}")
        #expect(table.glass.notice?.mood == .bad)
        guard case .home(let home) = table.glass.screen else { throw Stray(table.glass) }
        #expect(home.roster.mood == .care)
        #expect(home.none == table.words("ui.home.none"))
    }
}

extension Table {
    /// Calls a dog from the queue.
    func call(_ dog: String) async throws {
        guard case .queue(let queue) = glass.screen else { throw Stray(glass) }
        let line = try #require(queue.waiting.dogs.first { $0.id == dog })
        await model.send(try #require(line.call))
    }

    /// From nothing to the hoops.
    func toTheHoops() async throws {
        await model.loadRoster(try Recorded.roster())
        try await press("start_session")
        try await press("set_venue")
        for (x, y) in [(420, -130), (180, -310)] as [(Int32, Int32)] {
            guard case .surface(let surface) = glass.screen else { throw Stray(glass) }
            await model.send(surface.entry.tap(xMdeg: x, yMdeg: y))
        }
        try await press("surface_done")
    }

    /// From nothing to the first measurer's PIN.
    func toThePin() async throws {
        try await toTheHoops()
        guard case .hoops(let hoops) = glass.screen else { throw Stray(glass) }
        for id in hoops.hoops.map(\.id) {
            guard case .hoops(let now) = glass.screen else { throw Stray(glass) }
            let hoop = try #require(now.hoops.first { $0.id == id })
            await model.send(hoop.choices[0].tap)
        }
        try await press("hoops_done")
        guard case .measurers(let measurers) = glass.screen else { throw Stray(glass) }
        await model.send(try #require(measurers.people.first { $0.id == "ottoline" }).toggle)
    }
}
