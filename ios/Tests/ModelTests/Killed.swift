import Foundation
import StandsquareCore
import StandsquareModel
import Testing

#if canImport(Glibc)
    import Glibc
#endif

/// A process that is killed (SIGKILL) with the journal open. What was answered is there when it
/// is opened again, and the session goes on from it.
@Suite(.serialized) struct Killed {
    // A chip number comes in pieces, none of them durable: fewer acts would get nowhere.
    @Test(arguments: Places.days, [12, 20])
    func theSessionGoesOnAtTheSameStep(name: String, acts: Int) throws {
        let replay = try Places.replay(name)
        let whole = try revisions(replay)
        let folder = try Folder()
        var kills = 0
        let last = replay.recording.steps.count - 1
        var first = 0
        var before = acts
        // Killed a few acts after each beginning, until the session is through.
        while true {
            let (answered, killed) = try rehearse(name, in: folder, from: first, killAfter: before)
            kills += killed ? 1 : 0
            let phone = try replay.open(in: folder.url)
            let revision = try phone.view().revision
            // At least what was answered is there; the act in flight is there whole or not at all.
            #expect(revision >= whole[answered])
            let reached = try #require(whole.firstIndex(of: revision), "a half act was kept")
            #expect(reached <= answered + before)
            if answered == last { break }
            // The answered steps after the last durable one are done again: a chip number of
            // which only pieces had come must come once more.
            if reached + 1 > first {
                first = reached + 1
                before = acts
            } else {
                // Four dogs scanned one after the other, and none of them the one: nothing of
                // that is durable. It lives longer the next time.
                before += acts
                try #require(before <= 60, "nothing of it was kept")
            }
        }
        // One that had done its acts before the signal reached it was not killed.
        #expect(kills > 0)
        let phone = try replay.open(in: folder.url)
        #expect(try phone.sessionJson() == Places.sessionJson(name))
    }

    /// The revision after every step, from an undisturbed run.
    private func revisions(_ replay: Replay) throws -> [Int64] {
        let folder = try Folder()
        let phone = try replay.open(in: folder.url)
        return try replay.recording.steps.indices.map {
            try replay.perform($0, on: phone).view.revision
        }
    }

    /// Runs the recording from a step on in a process, kills it once it has answered so many
    /// acts more. Gives the last step that it had answered, and whether the kill met it alive.
    private func rehearse(
        _ name: String, in folder: Folder, from first: Int, killAfter count: Int
    ) throws -> (answered: Int, killed: Bool) {
        let process = Process()
        process.executableURL = Places.products.appending(path: "Rehearse")
        process.arguments = [
            Places.recorded.appending(path: "\(name).json").path, folder.url.path, String(first),
        ]
        let pipe = Pipe()
        process.standardOutput = pipe
        try process.run()
        var text = Data()
        while text.count(of: UInt8(ascii: "\n")) < count {
            let more = pipe.fileHandleForReading.availableData
            if more.isEmpty { break }
            text += more
        }
        kill(process.processIdentifier, SIGKILL)
        process.waitUntilExit()
        text += pipe.fileHandleForReading.readDataToEndOfFile()
        let lines = String(decoding: text, as: UTF8.self).split(separator: "\n")
        let answered = try #require(lines.last.flatMap { Int($0) }, "nothing was answered")
        return (answered, process.terminationReason == .uncaughtSignal)
    }
}

extension Data {
    fileprivate func count(of byte: UInt8) -> Int {
        lazy.filter { $0 == byte }.count
    }
}
