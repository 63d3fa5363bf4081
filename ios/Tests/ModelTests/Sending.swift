import Foundation
import StandsquareCore
import Testing

@testable import StandsquareModel

/// Sending while nobody holds the phone: the model presses what the core offers.
@MainActor
@Suite struct Sending {
    @Test func nothingIsSentWhereNothingWaits() async throws {
        let table = try await Table()
        #expect(await table.model.sendWaiting() == 0)
        #expect(await table.platform.asked.isEmpty)
    }

    @Test func whatIsSignedIsSentWhileTheDogIsStillAtTheTable() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.toTheSignatures()
        for (person, pin) in Table.pins { try await table.sign(person, pin) }
        let before = table.glass.title
        #expect(await table.model.sendWaiting() == 1)
        #expect(table.glass.title == before)
        #expect(table.glass.notice == nil)
        #expect(await table.platform.asked.count == 1)
    }

    @Test func packetsGoAsWellAndForeignOnesThatComeBackSayNothing() async throws {
        let table = try await Table()
        try await table.wholeDay()
        #expect(await table.model.sendWaiting() == 1)
        let packets = await table.platform.packets
        #expect(!packets.isEmpty && packets.allSatisfy { $0.count <= 1_200 })
        let shown = table.glass.title
        for packet in [Data(), Data(count: 1_200), packets[0]] {
            await table.platform.comesBack(packet)
        }
        await table.model.networkChanged()
        #expect(table.glass.title == shown)
        #expect(table.glass.outbox.waiting == 1)
    }

    @Test func anOfficeOutOfReachIsAskedOnceATurn() async throws {
        let table = try await Table()
        try await table.wholeDay()
        #expect(await table.model.sendWaiting() == 1)
        #expect(await table.platform.asked.count == 1)
        #expect(await table.model.sendWaiting() == 1)
        #expect(await table.platform.asked.count == 2)
        #expect(table.glass.notice?.text.contains("out of reach") == true)
    }

    @Test func anAnswerThatTheOfficeDidNotSignEndsTheTurn() async throws {
        let table = try await Table(PlayedPlatform(office: .answered(status: 200, body: Data())))
        try await table.wholeDay()
        #expect(await table.model.sendWaiting() == 1)
        #expect(await table.platform.asked.count == 1)
    }

    @Test(arguments: [UInt16(413), 500, 503])
    func anOfficeThatRefusesLosesNothing(status: UInt16) async throws {
        let table = try await Table(PlayedPlatform(office: .answered(status: status, body: Data())))
        try await table.wholeDay()
        #expect(await table.model.sendWaiting() == 1)
        try await table.reopen()
        #expect(table.glass.outbox.waiting == 1)
    }

    /// The recorded office's own receipt, for the very events of the recorded session.
    @Test(arguments: Places.sent)
    func theOfficesReceiptEmptiesTheOutbox(name: String) async throws {
        let recording = try Places.replay(name).recording
        var reply: OfficeReply?
        var acts: [Act] = []
        var sent = false
        for step in recording.steps {
            switch step.act {
            case .officeAnswer(let request, let status, let body):
                // The log's answer comes after it.
                if request.hasPrefix("frames-") { reply = .answered(status: status, body: body) }
            case .sendReturn: sent = true
            // What follows is about the log.
            default: if !sent { acts.append(step.act) }
            }
        }
        let table = try await Table(
            PlayedPlatform(office: try #require(reply)), secret: recording.deviceSecret,
            moments: RecordedMoments(recording))
        for act in acts {
            let revision = try await table.gateway.view().revision
            await table.model.send(Tap(act: act, seen: revision))
        }
        #expect(table.glass.outbox.waiting > 0)
        #expect(await table.model.sendWaiting() == 0)
        #expect(table.glass.notice?.mood == .good)
        #expect(try await table.gateway.sessionJson() == Places.sessionJson(name))
    }

    @Test func aRequestThatHangsDoesNotHoldTheGlassUp() async throws {
        let table = try await Table()
        try await table.wholeDay()
        await table.platform.hold()
        try await table.press("send_return")
        // The answer is still to come, perhaps a rival's too, and the glass goes on.
        await table.platform.asked(times: 1)
        await table.model.tick()
        #expect(table.glass.outbox.waiting == 1)
        await table.platform.letGo()
        await table.model.answered()
        #expect(table.glass.notice?.mood != .good)
    }
}
