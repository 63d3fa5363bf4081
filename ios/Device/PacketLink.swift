#if canImport(Network)
import Foundation
import Network

/// Carries packets to the office, each by itself, and whatever comes back. Which, when and how
/// often is for the core, and so is what they mean; one that cannot be carried is a lost one.
public actor PacketLink {
    private struct Open {
        let place: String
        let connection: NWConnection
    }

    private let office: URL?
    private let queue = DispatchQueue(label: "standsquare.packets")
    private var open: Open?

    /// - Parameter office: where the office answers; nothing while nobody has set it.
    public init(office: URL?) {
        self.office = office
    }

    /// Sends these to the host and port of this address; empty for the office that this build
    /// was given.
    public func send(
        _ packets: [Data], address: String, heard: @escaping @Sendable (Data) -> Void
    ) {
        let url = address.isEmpty ? office : URL(string: address)
        guard let url, let connection = connection(to: url, heard) else { return }
        for packet in packets {
            connection.send(content: packet, completion: .idempotent)
        }
    }

    private func connection(
        to url: URL, _ heard: @escaping @Sendable (Data) -> Void
    ) -> NWConnection? {
        let usual: UInt16 = url.scheme == "http" ? 80 : 443
        guard let host = url.host(),
            let number = UInt16(exactly: url.port ?? Int(usual)),
            let port = NWEndpoint.Port(rawValue: number)
        else { return nil }
        let place = "\(host) \(port.rawValue)"
        if let open, open.place == place, Self.isOfUse(open.connection) { return open.connection }
        open?.connection.cancel()
        let made = NWConnection(host: NWEndpoint.Host(host), port: port, using: .udp)
        // The phone has gone from Wi-Fi to mobile data, or back: the next packet takes the new way.
        made.betterPathUpdateHandler = { better in if better { made.cancel() } }
        Self.hear(made, heard)
        made.start(queue: queue)
        open = Open(place: place, connection: made)
        return made
    }

    private static func isOfUse(_ connection: NWConnection) -> Bool {
        switch connection.state {
        case .setup, .preparing, .ready: true
        case .waiting, .failed, .cancelled: false
        @unknown default: false
        }
    }

    private static func hear(
        _ connection: NWConnection, _ heard: @escaping @Sendable (Data) -> Void
    ) {
        connection.receiveMessage { packet, _, _, fault in
            if let packet { heard(packet) }
            if fault == nil { hear(connection, heard) }
        }
    }
}
#endif
