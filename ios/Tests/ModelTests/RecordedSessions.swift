import Foundation
import StandsquareCore
import StandsquareModel
import Testing

/// The same recorded session gives the same `session.json`, byte for byte, here as in Rust and
/// Kotlin, however often the phone is killed on the way.
@Suite struct RecordedSessions {
    @Test func thereAreSome() {
        #expect(!Places.recordings.isEmpty)
    }

    @Test(arguments: Places.recordings)
    func giveTheSameSessionJson(name: String) throws {
        let replay = try Places.replay(name)
        let folder = try Folder()
        let phone = try replay.open(in: folder.url)
        for step in replay.recording.steps.indices {
            _ = try replay.perform(step, on: phone)
        }
        #expect(try phone.sessionJson() == Places.sessionJson(name))
        // The office's recorded receipt names the events by their hashes: it counts only if this
        // phone made the very same events.
        #expect(try phone.view().outbox.waiting == 0)
    }

    @Test(arguments: Places.recordings)
    func giveTheSameThroughTheGateway(name: String) async throws {
        let replay = try Places.replay(name)
        let folder = try Folder()
        let moments = RecordedMoments(replay.recording)
        let gateway = try await CoreGateway.open(
            folder: folder.url, secret: replay.recording.deviceSecret, moments: moments)
        for recorded in replay.recording.steps {
            _ = try await gateway.apply(recorded.act, seen: gateway.view().revision)
        }
        #expect(try await gateway.sessionJson() == Places.sessionJson(name))
    }

    @Test(arguments: Places.recordings)
    func giveTheSameIfThePhoneIsOpenedAnewBetweenActs(name: String) throws {
        let replay = try Places.replay(name)
        let folder = try Folder()
        var durable = Durable(replay, revision: try replay.open(in: folder.url).view().revision)
        while durable.next < replay.recording.steps.count {
            let phone = try replay.open(in: folder.url)
            #expect(try phone.view().revision == durable.revision)
            _ = try durable.advance(on: phone)
        }
        let phone = try replay.open(in: folder.url)
        #expect(try phone.sessionJson() == Places.sessionJson(name))
    }
}

/// Stamps in the order they were recorded, the opening's first.
final class RecordedMoments: MomentSource, @unchecked Sendable {
    private let lock = NSLock()
    private var left: ArraySlice<Stamp>

    init(_ recording: Recording) {
        left = ([recording.opened] + recording.steps.map(\.stamp))[...]
    }

    /// The next one; a phone that acts more often than was recorded is an issue of the test.
    func stamp() -> Stamp {
        lock.withLock {
            if left.count > 1 { return left.removeFirst() }
            let last = left[left.startIndex]
            if used { Issue.record("the phone acts more often than was recorded") }
            used = true
            return last
        }
    }

    /// Whether the last one was given.
    private var used = false
}

/// Goes through a recording in stretches that each end with a committed act: what comes between
/// two of them (pieces of a chip number, a refused tap) is lost with the process, and is done
/// again after it.
struct Durable {
    let replay: Replay
    /// The step to begin the next stretch with.
    private(set) var next = 0
    /// The revision after the last stretch.
    private(set) var revision: Int64

    init(_ replay: Replay, revision: Int64) {
        self.replay = replay
        self.revision = revision
    }

    /// Does one stretch, and says which steps were in it.
    mutating func advance(on phone: Phone) throws -> Range<Int> {
        let first = next
        while next < replay.recording.steps.count {
            let answer = try replay.perform(next, on: phone)
            next += 1
            if answer.view.revision != revision {
                revision = answer.view.revision
                break
            }
        }
        return first..<next
    }
}
