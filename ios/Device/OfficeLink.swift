import Foundation
import StandsquareModel

#if canImport(FoundationNetworking)
import FoundationNetworking
#endif

/// One request to the office and its answer. When to send, and what the answer means, is for
/// the core.
public struct OfficeLink: Sendable {
    private let office: URL?
    private let session: URLSession

    /// - Parameters:
    ///   - office: where the office answers; nothing while nobody has set it, and then what is
    ///     recorded waits on the phone.
    ///   - session: given by tests.
    public init(office: URL?, session: URLSession = .shared) {
        self.office = office
        self.session = session
    }

    /// Sends a body by POST to `path` at the office.
    public func ask(path: String, body: Data) async -> OfficeReply {
        guard let office else { return .unreachable(reason: "no office is set") }
        var request = URLRequest(url: office.appending(path: path))
        request.httpMethod = "POST"
        request.httpBody = body
        request.setValue("application/cbor", forHTTPHeaderField: "Content-Type")
        do {
            let (answer, response) = try await session.data(for: request)
            guard let http = response as? HTTPURLResponse,
                let status = UInt16(exactly: http.statusCode)
            else { return .unreachable(reason: "not an HTTP answer") }
            return .answered(status: status, body: answer)
        } catch {
            return .unreachable(reason: error.localizedDescription)
        }
    }
}
