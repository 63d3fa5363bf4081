import Foundation
import StandsquareCore
import StandsquareModel
import Testing

/// Opening the record: what stops it, and that each fault has words that say what to do.
@Suite struct OpeningTheRecord {
    private let secret = Data(repeating: 7, count: 32)

    @Test func aSecretOfTheWrongLengthIsRefused() async throws {
        let folder = try Folder()
        await #expect(throws: PhoneFault.self) {
            try await CoreGateway.open(folder: folder.url, secret: Data([1, 2, 3]))
        }
    }

    @Test func anotherPhonesSecretDoesNotOpenTheRecord() async throws {
        let folder = try Folder()
        _ = try await CoreGateway.open(folder: folder.url, secret: secret)
        do {
            _ = try await CoreGateway.open(
                folder: folder.url, secret: Data(repeating: 8, count: 32))
            Issue.record("it opened")
        } catch PhoneFault.OtherPhone {
        }
    }

    @MainActor
    @Test func whatStopsItIsSaidInWords() async throws {
        let folder = try Folder()
        let words = try Places.words()
        let secret = secret
        guard
            case .done = try await Opening.open(
                folder: folder.url.appending(path: "new"), secret: { secret },
                platform: PlayedPlatform(), shelf: Places.shelf())
        else {
            Issue.record("it did not open")
            return
        }
        guard
            case .failed(let fault) = try await Opening.open(
                folder: folder.url.appending(path: "new"),
                secret: { Data(repeating: 8, count: 32) }, platform: PlayedPlatform(),
                shelf: Places.shelf())
        else {
            Issue.record("it opened")
            return
        }
        #expect(fault.text == words(Text(key: "ui.fault.other_phone", args: [])))
        #expect(!fault.reason.isEmpty)
    }

    @Test func anEmptyPhoneHasNoSession() async throws {
        let folder = try Folder()
        let gateway = try await CoreGateway.open(folder: folder.url, secret: secret)
        #expect(try await gateway.sessionJson().isEmpty)
        #expect(try await gateway.returnCsv().isEmpty)
    }

    @Test func theJournalIsCopiedWhole() async throws {
        let folder = try Folder()
        let gateway = try await CoreGateway.open(folder: folder.url, secret: secret)
        let copies = try Folder()
        let copy = copies.url.appending(path: "journal.sqlite")
        try await gateway.exportJournal(to: copy)
        // The copy is a journal of this phone: it opens.
        let again = try await CoreGateway.open(folder: copies.url, secret: secret)
        #expect(try await again.view() == gateway.view())
    }

    @Test func aRecordingThatIsNoneSaysWhere() {
        do {
            _ = try Replay(text: "{\n  \"about\": 1\n}")
            Issue.record("it was read")
        } catch RecordingFault.Unreadable(let reason) {
            #expect(reason.contains("line 2"))
        } catch {
            Issue.record("another fault: \(error)")
        }
    }

    @Test func thePhonesOwnMomentIsNow() {
        let stamp = PhoneMoment().stamp()
        #expect(abs(Double(stamp.atMs) / 1000 - Date().timeIntervalSince1970) < 60)
        #expect(stamp.entropy.count == 32)
        #expect(PhoneMoment().stamp().entropy != stamp.entropy)
    }
}
