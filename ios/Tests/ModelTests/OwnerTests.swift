import Foundation
import StandsquareCore
import Testing

@testable import StandsquareModel

/// A measurer's own phone, through the model, over the real core.
@MainActor
@Suite struct OwnerTests {
    /// Ottoline's own phone with an open queue.
    private func hers() async throws -> Table {
        let table = try await Table(PlayedPlatform(finger: .owners))
        try await table.setUp()
        try await table.press("open_settings")
        try await table.press("own_phone_ottoline")
        guard case .unlock(let unlock) = table.glass.screen else { throw Stray(table.glass) }
        let seat = try #require(unlock.seats.first)
        #expect(seat.byOwner == nil)
        await table.model.send(try #require(seat.entry).tap(digits: "4711"))
        await table.model.owner?.value
        #expect(table.glass.notice?.mood == .good)
        try await table.press("leave_look")
        return table
    }

    private func seats(_ table: Table) throws -> [SeatState] {
        guard case .sign(let sign) = table.glass.screen else { throw Stray(table.glass) }
        return sign.seats
    }

    private func byFinger(_ table: Table) async throws {
        let button = try #require(try seats(table)[0].byOwner)
        #expect(button.label == table.words("ui.sign.by_owner"))
        await table.model.send(button.tap)
        await table.model.owner?.value
    }

    @Test func theOwnersFingerSignsInPlaceOfThePINAndNobodyElses() async throws {
        let table = try await hers()
        try await table.toTheSignatures()
        #expect(try seats(table)[1].byOwner == nil)
        await table.platform.put(.unknown)
        try await byFinger(table)
        #expect(try seats(table)[0].entry != nil)
        await table.platform.put(.owners)
        try await byFinger(table)
        #expect(try seats(table)[0].entry == nil && seats(table)[0].byOwner == nil)
        let reasons = await table.platform.reasons
        #expect(reasons.count == 3)
        #expect(reasons.allSatisfy { $0.hasPrefix("Ottoline Marsh: ") })
        try await table.sign("bram", "2580")
        guard case .bookLine = table.glass.screen else { throw Stray(table.glass) }
    }

    @Test func changedBiometricsSaySoAndThePINDoes() async throws {
        let table = try await hers()
        try await table.toTheSignatures()
        await table.platform.enrolAnother()
        try await byFinger(table)
        #expect(table.glass.notice?.text == table.words("notice.owner_gone"))
        #expect(try seats(table).allSatisfy { $0.byOwner == nil })
        for (person, pin) in Table.pins { try await table.sign(person, pin) }
        guard case .bookLine = table.glass.screen else { throw Stray(table.glass) }
    }

    @Test func openedAgainItIsStillTheirPhone() async throws {
        let table = try await hers()
        try await table.toTheSignatures()
        try await table.reopen()
        try await byFinger(table)
        #expect(try seats(table)[0].entry == nil)
    }

    @Test func aPhoneWithoutBiometricsOffersNone() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.press("open_settings")
        #expect(!table.glass.buttons.contains { $0.id.hasPrefix("own_phone") })
        // Somebody is enrolled in the system's settings, and comes back.
        await table.platform.put(.owners)
        await table.model.cameToFront()
        #expect(table.glass.buttons.contains { $0.id.hasPrefix("own_phone") })
    }
}
