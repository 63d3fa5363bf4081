#if os(iOS) || STANDSQUARE_DECLARATIONS
import Foundation
import StandsquareModel

#if canImport(FoundationNetworking)
import FoundationNetworking
#endif

/// Requests to the office that the system carries on with when the app is set aside or ended.
///
/// The answer goes to whoever asked, if they are still there. If the app was ended meanwhile the
/// answer is dropped: the core then offers the same frames again, and the office, which has them,
/// signs for them once more.
///
/// `@unchecked Sendable`: what changes is touched on `queue` only, on which the session calls its
/// delegate too.
public final class BackgroundOffice: NSObject, OfficeCarrier, @unchecked Sendable {
    /// The session's name for the system.
    public static let identifier = "standsquare.office"

    private struct Asked {
        var answer = Data()
        let done: CheckedContinuation<OfficeReply, Never>
    }

    private let office: URL?
    private let queue = OperationQueue()
    private var asked: [Int: Asked] = [:]
    private var wake: (@Sendable () -> Void)?
    private lazy var session: URLSession = {
        let settings = OfficeLink.carrying(.background(withIdentifier: Self.identifier))
        // At once, not when the phone is charged: the measurer waits for the receipt.
        settings.isDiscretionary = false
        settings.sessionSendsLaunchEvents = true
        settings.timeoutIntervalForResource = 24 * 3600
        return URLSession(configuration: settings, delegate: self, delegateQueue: queue)
    }()

    /// - Parameter office: where the office answers; nothing while nobody has set it.
    public init(office: URL?) {
        self.office = office
        super.init()
        queue.maxConcurrentOperationCount = 1
    }

    /// The system started the app for this session: `done` is called once all is delivered.
    public func resume(_ done: @escaping @Sendable () -> Void) {
        queue.addOperation {
            self.wake = done
            _ = self.session
        }
    }

    public func ask(address: String, path: String, body: Data) async -> OfficeReply {
        guard let office = address.isEmpty ? office : URL(string: address) else { return .unreachable(reason: "no office is set") }
        // The system reads the body from a file, since the app may be gone by then.
        let file = FileManager.default.temporaryDirectory
            .appending(path: "post-\(UUID().uuidString)")
        do {
            try body.write(to: file, options: .atomic)
        } catch {
            return .unreachable(reason: error.localizedDescription)
        }
        let request = OfficeLink.request(office: office, path: path)
        return await withCheckedContinuation { done in
            queue.addOperation {
                let task = self.session.uploadTask(with: request, fromFile: file)
                task.taskDescription = file.path
                self.asked[task.taskIdentifier] = Asked(done: done)
                task.resume()
            }
        }
    }
}

extension BackgroundOffice: URLSessionDataDelegate {
    public func urlSession(
        _ session: URLSession, dataTask: URLSessionDataTask, didReceive data: Data
    ) {
        asked[dataTask.taskIdentifier]?.answer.append(data)
    }

    public func urlSession(
        _ session: URLSession, task: URLSessionTask, didCompleteWithError error: (any Error)?
    ) {
        if let file = task.taskDescription { try? FileManager.default.removeItem(atPath: file) }
        guard let asked = asked.removeValue(forKey: task.taskIdentifier) else { return }
        asked.done.resume(
            returning: OfficeLink.reply(asked.answer, task.response, error))
    }

    #if os(iOS)
    public func urlSessionDidFinishEvents(forBackgroundURLSession session: URLSession) {
        wake?()
        wake = nil
    }
    #endif
}
#endif
