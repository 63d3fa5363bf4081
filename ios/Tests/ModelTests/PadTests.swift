import StandsquareCore
import Testing

@testable import StandsquareModel

/// Our own number keys.
@Suite struct PadTests {
    private func typed(_ keys: [Int], _ digits: ClosedRange<Int> = 4...6) -> TypedDigits {
        var typed = TypedDigits(digits)
        for key in keys { #expect(typed.press(key) == nil) }
        return typed
    }

    @Test func digitsAreHandedOverOnEnter() {
        var four = typed([4, 7, 1, 1])
        #expect(four.mayEnter)
        #expect(four.enter() == "4711")
        // And forgotten.
        #expect(four.text.isEmpty)
        #expect(four.enter() == nil)
    }

    @Test func theLongestIsHandedOverByItself() {
        var five = typed([1, 2, 3, 4, 5])
        #expect(five.press(6) == "123456")
        #expect(five.text.isEmpty)
    }

    @Test func tooFewAreNotHandedOver() {
        var three = typed([1, 2, 3])
        #expect(!three.mayEnter)
        #expect(three.enter() == nil)
        #expect(three.text == "123")
    }

    @Test func theLastIsTakenBack() {
        var two = typed([1, 2])
        two.back()
        #expect(two.text == "1")
        two.back()
        two.back()
        #expect(two.text.isEmpty)
    }

    @Test(arguments: [-1, 10, 123])
    func whatIsNoDigitIsNot(key: Int) {
        var one = typed([1])
        #expect(one.press(key) == nil)
        #expect(one.text == "1")
    }

    @Test func nothingMayBeTypedWhereOneLengthCounts() {
        var none = typed([], 1...1)
        #expect(!none.mayEnter)
        #expect(none.press(0) == "0")
    }

    @MainActor
    @Test func thePadOfAScreenSaysHowManyAreTyped() async throws {
        let table = try await Table()
        try await table.toThePin()
        guard case .pin(let pin) = table.glass.screen else { throw Stray(table.glass) }
        let pad = pin.entry.pad
        #expect(pad.secret && pad.mayShow)
        #expect(pad.typed.count == pad.digits.upperBound + 1)
        #expect(pad.typed[1] == "1 digit entered")
        #expect(pad.typed[4] == "4 digits entered")
        #expect(Set([pad.enter, pad.back, pad.show, pad.hide, pad.close]).count == 5)
    }

    @MainActor
    @Test func aPinToSignWithIsNeverShown() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.toTheSignatures()
        guard case .sign(let sign) = table.glass.screen else { throw Stray(table.glass) }
        for seat in sign.seats {
            let pad = try #require(seat.entry).pad
            #expect(pad.secret && !pad.mayShow)
        }
    }

    @MainActor
    @Test func aNumberIsTypedFromTheReadersDisplay() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.toTheChip("pip")
        guard case .chip(let chip) = table.glass.screen else { throw Stray(table.glass) }
        let entry = try #require(chip.typed)
        let pad = try #require(entry.pad)
        #expect(!pad.secret)
        #expect(pad.digits.contains(15))
        let number = try #require(table.glass.dog).chip.filter(\.isNumber)
        await table.model.send(entry.tap(text: number))
        // It is the book's: on with the dog, and what is signed says how the number came.
        for id in ["settled", "stands_square", "base_flat"] { try await table.press(id) }
        guard case .sign(let sign) = table.glass.screen else { throw Stray(table.glass) }
        #expect(sign.statement.contains { $0.value == table.words("proof.typed") })
    }

    @MainActor
    @Test func whatIsNoChipNumberIsRefusedAndNothingIsRecorded() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.toTheChip("pip")
        guard case .chip(let chip) = table.glass.screen else { throw Stray(table.glass) }
        await table.model.send(try #require(chip.typed).tap(text: "12"))
        #expect(table.glass.notice?.mood == .bad)
        guard case .chip(let after) = table.glass.screen else { throw Stray(table.glass) }
        #expect(after.reads.isEmpty)
    }
}
