import Testing

@testable import StandsquareModel

/// A clicker's two keys on the model, over the real core.
@MainActor
@Suite struct Clicker {
    @Test func flatWantsTwoPressesAndNotFlatOne() async throws {
        let table = try await Table()
        try await table.setUp()
        #expect(!table.model.listensToKeys)
        let before = table.glass.title
        await table.model.pressed(up: false)
        #expect(table.glass.title == before)
        #expect(table.glass.notice == nil, "a key that nobody listens to is not even refused")

        try await table.toTheHoop()
        #expect(table.model.listensToKeys)
        guard case .placing(let placing) = table.glass.screen else { throw Stray(table.glass) }
        #expect(placing.keys != nil)
        // Two seconds lie between two acts here.
        await table.model.pressed(up: true)
        guard case .placing = table.glass.screen else { throw Stray(table.glass) }
        #expect(table.glass.notice != nil)
        await table.model.pressed(up: true)
        guard case .sign = table.glass.screen else { throw Stray(table.glass) }
    }

    @Test func notFlatIsTakenBackByATap() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.toTheHoop()
        await table.model.pressed(up: false)
        guard case .stance = table.glass.screen else { throw Stray(table.glass) }
        try await table.press("undo_placing")
        guard case .placing(let placing) = table.glass.screen else { throw Stray(table.glass) }
        #expect(placing.placings.isEmpty)
    }
}
