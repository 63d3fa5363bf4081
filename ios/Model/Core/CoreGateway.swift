import Dispatch
import Foundation
import StandsquareCore

/// The only way from Swift into the core: one act at a time, off the main thread.
///
/// Every act is one transaction that waits for the disk, so the actor works on a queue of its
/// own and never holds a thread of Swift's shared pool.
public actor CoreGateway {
    private let queue: QueueExecutor
    private let moments: any MomentSource
    private let phone: Phone

    public nonisolated var unownedExecutor: UnownedSerialExecutor {
        queue.asUnownedSerialExecutor()
    }

    private init(phone: Phone, moments: any MomentSource, queue: QueueExecutor) {
        self.phone = phone
        self.moments = moments
        self.queue = queue
    }

    /// Opens the phone's folder, or makes it.
    ///
    /// - Parameters:
    ///   - folder: where the journal is kept.
    ///   - secret: 32 bytes that only this phone has (the key store keeps them).
    ///   - moments: clock and randomness.
    /// - Throws: `PhoneFault`; each case tells what a person can do.
    public static func open(
        folder: URL, secret: Data, moments: any MomentSource = PhoneMoment()
    ) async throws -> CoreGateway {
        let queue = QueueExecutor(label: "standsquare.core")
        let phone: Phone = try await withCheckedThrowingContinuation { done in
            queue.run {
                done.resume(
                    with: Result {
                        try Phone.open(
                            dir: folder.path, deviceSecret: secret, stamp: moments.stamp())
                    })
            }
        }
        return CoreGateway(phone: phone, moments: moments, queue: queue)
    }

    /// Does one act. `seen` is the revision of the view that it was made on; for an act of the
    /// world (the reader, time, the office) it does not matter.
    public func apply(_ act: Act, seen: Int64) throws -> Answer {
        try phone.apply(act: act, seen: seen, stamp: moments.stamp())
    }

    /// What to show now.
    public func view() throws -> View {
        try phone.view()
    }

    /// `session.json` of the session under way or the last one; empty where there was none.
    public func sessionJson() throws -> String {
        try phone.sessionJson()
    }

    /// `return.csv` of the same session.
    public func returnCsv() throws -> String {
        try phone.returnCsv()
    }

    /// Writes a whole copy of the journal to `file`, which must not exist.
    public func exportJournal(to file: URL) throws {
        try phone.exportJournal(path: file.path)
    }
}

/// An actor's jobs on one dispatch queue.
final class QueueExecutor: SerialExecutor {
    private let queue: DispatchQueue

    init(label: String) {
        queue = DispatchQueue(label: label, qos: .userInitiated)
    }

    func run(_ work: @escaping @Sendable () -> Void) {
        queue.async(execute: work)
    }

    func enqueue(_ job: consuming ExecutorJob) {
        let job = UnownedJob(job)
        let executor = asUnownedSerialExecutor()
        queue.async {
            job.runSynchronously(on: executor)
        }
    }

    func asUnownedSerialExecutor() -> UnownedSerialExecutor {
        UnownedSerialExecutor(ordinary: self)
    }
}
