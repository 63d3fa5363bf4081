import Foundation
import StandsquareModel

#if canImport(FoundationNetworking)
import FoundationNetworking
#endif

/// Carries a request to the office. When to send, and what the answer means, is for the core.
public protocol OfficeCarrier: Sendable {
    /// Sends a body by POST to `path` at the office of this address; empty for the one that
    /// this build was given.
    func ask(address: String, path: String, body: Data) async -> OfficeReply
}

/// One request to the office and its answer, while the app is in front.
public struct OfficeLink: OfficeCarrier {
    private let office: URL?
    private let session: URLSession

    /// - Parameters:
    ///   - office: where the office answers; nothing while nobody has set it, and then what is
    ///     recorded waits on the phone.
    ///   - session: given by tests.
    public init(office: URL?, session: URLSession? = nil) {
        self.office = office
        self.session = session ?? URLSession(configuration: Self.carrying(.default))
    }

    /// So many connections live to the office at a time: `Timers::live` in core/sync, which says
    /// why, and one for its log. A session has four of its own accord.
    static let mostAtOnce = 17

    /// The same settings, for rivals that each need a connection.
    static func carrying(_ settings: URLSessionConfiguration) -> URLSessionConfiguration {
        settings.httpMaximumConnectionsPerHost = mostAtOnce
        return settings
    }

    public func ask(address: String, path: String, body: Data) async -> OfficeReply {
        guard let office = address.isEmpty ? office : URL(string: address) else { return .unreachable(reason: "no office is set") }
        var request = Self.request(office: office, path: path)
        request.httpBody = body
        do {
            let (answer, response) = try await session.data(for: request)
            return Self.reply(answer, response, nil)
        } catch {
            return Self.reply(Data(), nil, error)
        }
    }

    /// A POST without its body.
    static func request(office: URL, path: String) -> URLRequest {
        var request = URLRequest(url: office.appending(path: path))
        request.httpMethod = "POST"
        request.setValue("application/cbor", forHTTPHeaderField: "Content-Type")
        return request
    }

    /// What came of a request, for the core.
    static func reply(
        _ answer: Data, _ response: URLResponse?, _ error: (any Error)?
    ) -> OfficeReply {
        if let error { return .unreachable(reason: error.localizedDescription) }
        guard let http = response as? HTTPURLResponse,
            let status = UInt16(exactly: http.statusCode)
        else { return .unreachable(reason: "not an HTTP answer") }
        return .answered(status: status, body: answer)
    }
}
