import Foundation
import StandsquareCore
import Testing

@testable import StandsquareModel

/// The app is ended and opened again, at every kind of moment: what was answered is there, and
/// what was half done is not.
@MainActor
@Suite struct Reopened {
    @Test(arguments: Places.recordings)
    func everyGlassComesBackAsItWas(name: String) throws {
        let replay = try Places.replay(name)
        let words = try Places.words()
        let folder = try Folder()
        var durable = Durable(replay, revision: try replay.open(in: folder.url).view().revision)
        while durable.next < replay.recording.steps.count {
            let before: GlassState
            let steps: Range<Int>
            do {
                let phone = try replay.open(in: folder.url)
                steps = try durable.advance(on: phone)
                before = GlassState(try phone.view(), words: words)
            }
            let after = GlassState(try replay.open(in: folder.url).view(), words: words)
            // The radio's link and what was just said belong to the process, not to the record.
            // It is opened by the recording's first moment, hours before the last entry: keys that
            // close by themselves are closed then, and PINs asked for.
            // Codes and pages on the glass are of the moment too.
            let ofTheMoment =
                switch (before.screen, after.screen) {
                case (.codes, _), (.history, _), (.settings, _), (.unlock, .queue), (_, .unlock): true
                default: false
                }
            if !ofTheMoment {
                #expect(after.title == before.title, "step \(steps.upperBound)")
            }
            #expect(after.dog == before.dog, "step \(steps.upperBound)")
            #expect(after.outbox == before.outbox, "step \(steps.upperBound)")
            #expect(after.mark == before.mark, "step \(steps.upperBound)")
        }
    }

    @Test func theSetUpIsKept() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.reopen()
        guard case .queue(let queue) = table.glass.screen else { throw Stray(table.glass) }
        #expect(queue.waiting.dogs.contains { $0.id == "pip" })
        // Nobody has to choose a PIN again.
        try await table.toTheSignaturesAfterReopening()
        for (person, pin) in Table.pins { try await table.sign(person, pin) }
        guard case .bookLine = table.glass.screen else { throw Stray(table.glass) }
    }

    @Test func betweenTheTwoSignaturesTheFirstIsKept() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.toTheSignatures()
        try await table.sign("ottoline", "4711")
        try await table.reopen()
        guard case .sign(let sign) = table.glass.screen else { throw Stray(table.glass) }
        #expect(sign.seats.map { $0.entry == nil } == [true, false])
        try await table.sign("bram", "2580")
        guard case .bookLine = table.glass.screen else { throw Stray(table.glass) }
    }

    @Test func wrongPinsAreCountedOn() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.toTheSignatures()
        try await table.sign("ottoline", "1357")
        guard case .sign(let before) = table.glass.screen else { throw Stray(table.glass) }
        try await table.reopen()
        guard case .sign(let after) = table.glass.screen else { throw Stray(table.glass) }
        #expect(after.seats[0].tries == before.seats[0].tries)
        #expect(after.seats[0].tries != after.seats[1].tries)
    }

    @Test func thePlacingsAreKeptInOrder() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.toTheHoop()
        try await table.press("base_not_flat")
        try await table.press("stands_square")
        try await table.press("dog_moved")
        try await table.press("stands_square")
        guard case .placing(let before) = table.glass.screen else { throw Stray(table.glass) }
        #expect(before.placings.map(\.counts) == [true, false])
        #expect(before.drawing == nil)
        try await table.reopen()
        guard case .placing(let after) = table.glass.screen else { throw Stray(table.glass) }
        #expect(after == before)
    }

    @Test func aPlacingTakenBackStaysSo() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.toTheHoop()
        try await table.press("base_not_flat")
        try await table.press("undo_placing")
        try await table.reopen()
        guard case .placing(let placing) = table.glass.screen else { throw Stray(table.glass) }
        #expect(placing.placings.isEmpty)
        #expect(placing.drawing == table.words("ui.stance.drawing"))
    }

    @Test func piecesOfANumberAreNot() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.toTheChip("pip")
        let scan = try Recorded.scan(of: "pip")
        for bytes in scan.dropLast() { await table.model.readerBytes(bytes) }
        try await table.reopen()
        for bytes in scan.suffix(1) { await table.model.readerBytes(bytes) }
        #expect(table.glass.button("settled") == nil)
        try await table.scan("pip")
        #expect(table.glass.button("settled") != nil)
    }

    @Test func aDogStoppedStaysStopped() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.toTheChip("pip")
        try await table.press("not_today")
        guard case .stop(let stop) = table.glass.screen else { throw Stray(table.glass) }
        let nervous = try #require(stop.reasons.first { $0.id == "nervous" })
        await table.model.send(nervous.tap)
        try await table.reopen()
        guard case .sign(let sign) = table.glass.screen else { throw Stray(table.glass) }
        #expect(sign.outcome.contains(table.words("stop.nervous")))
        #expect(sign.height == nil)
    }

    @Test func theListOfReasonsIsLeftWithoutATrace() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.toTheChip("pip")
        let before = table.glass.title
        try await table.press("not_today")
        try await table.press("keep_going")
        #expect(table.glass.title == before)
        try await table.reopen()
        #expect(table.glass.title == before)
    }

    @Test func aTapFromBeforeDoesNothingAfter() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.toTheHoop()
        let tap = try #require(table.glass.button("base_not_flat")).tap
        await table.model.send(tap)
        try await table.reopen()
        let glass = table.glass
        await table.model.send(tap)
        #expect(table.glass.screen == glass.screen)
    }

    @Test func theSessionClosedIsAmongTheEarlierOnes() async throws {
        let table = try await Table()
        try await table.wholeDay()
        try await table.press("leave_session")
        guard case .home(let home) = table.glass.screen else { throw Stray(table.glass) }
        try await table.reopen()
        guard case .home(let again) = table.glass.screen else { throw Stray(table.glass) }
        #expect(again.sessions == home.sessions)
        #expect(again.sessions.count == 1)
        #expect(again.none == nil)
        #expect(again.roster.mood == .good)
        #expect(again.sessions[0].dogs == table.words("ui.session.dogs", ["count": .count(n: 1)]))
    }

    @Test func twoPhonesCannotHoldOneRecord() async throws {
        let folder = try Folder()
        let secret = Data(repeating: 7, count: 32)
        let first = try await CoreGateway.open(folder: folder.url, secret: secret)
        do {
            _ = try await CoreGateway.open(folder: folder.url, secret: secret)
            Issue.record("it opened twice")
        } catch let fault as PhoneFault {
            let words = try Places.words()
            let state = FaultState(fault, words: words)
            #expect(state.text == words("ui.fault.in_use"))
            #expect(state.notice.mood == .bad)
            #expect(!state.tryAgain.isEmpty)
        }
        // The first goes on undisturbed.
        _ = try await first.view()
    }
}

extension Table {
    /// Pip again, after the app was ended: the reader has to be found again.
    func toTheSignaturesAfterReopening() async throws {
        await model.readerLink(.connected, name: "Table reader")
        try await toTheSignatures()
    }

    /// One dog measured, signed and told; the session closed.
    func wholeDay() async throws {
        try await setUp()
        try await toTheSignatures()
        for (person, pin) in Self.pins { try await sign(person, pin) }
        for id in ["book_written", "handler_told", "review_close", "close_session"] {
            try await press(id)
        }
    }
}
