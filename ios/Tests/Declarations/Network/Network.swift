// Declarations only, for tests on Linux: the part of Network that this app uses, as we read its
// documentation. Nothing here does anything, and nothing of it goes onto a phone.

import Foundation
@_exported import Dispatch

public enum NWError: Error, Sendable {
    case posix(Int32)
}

public enum NWEndpoint {
    public struct Host: Sendable {
        public init(_ string: String) {}
    }

    public struct Port: Sendable {
        public let rawValue: UInt16
        public init?(rawValue: UInt16) { self.rawValue = rawValue }
    }
}

public final class NWParameters: @unchecked Sendable {
    public class var udp: NWParameters { undone() }
}

public final class NWConnection: @unchecked Sendable {
    public enum State: Sendable {
        case setup
        case waiting(NWError)
        case preparing
        case ready
        case failed(NWError)
        case cancelled
    }

    public final class ContentContext: @unchecked Sendable {
        public static var defaultMessage: ContentContext { undone() }
    }

    public enum SendCompletion {
        case contentProcessed(@Sendable (NWError?) -> Void)
        case idempotent
    }

    public init(host: NWEndpoint.Host, port: NWEndpoint.Port, using parameters: NWParameters) {}
    public var state: State { undone() }
    public var betterPathUpdateHandler: (@Sendable (Bool) -> Void)?
    public func start(queue: DispatchQueue) {}
    public func cancel() {}
    public func send(
        content: Data?, contentContext: ContentContext = .defaultMessage,
        isComplete: Bool = true, completion: SendCompletion
    ) {}
    public func receiveMessage(
        completion: @escaping @Sendable (Data?, ContentContext?, Bool, NWError?) -> Void
    ) {}
}

private func undone() -> Never { fatalError("declarations only") }
