import Foundation
import StandsquareModel

/// Where a phone keeps a few bytes for itself only: its Keychain; tests play it.
public protocol Vault: Sendable {
    /// What was kept; nothing only if nothing ever was.
    func find() throws -> Data?
    /// Keeps it, where nothing was kept before.
    func keep(_ item: Data) throws
}

/// A key that never leaves the phone's secure part; tests play it.
public protocol Enclave: Sendable {
    /// Seals bytes so that this phone alone can open them; nothing where it has no such part.
    func seal(_ plain: Data) throws -> Data?
    /// Opens what `seal` gave.
    func open(_ sealed: Data) throws -> Data
}

/// The 32 bytes that only this phone has. They never leave it: not in a backup, not to another
/// phone of the same person.
public enum DeviceSecret {
    /// Why there is no secret. Nothing is ever made anew in place of one that cannot be read: the
    /// journal could then not be opened any more.
    public enum Fault: Error, Equatable {
        /// The platform refused; the status is for the log.
        case refused(status: Int32)
        /// What was kept is not in a form of this app's.
        case unreadable
        /// What was kept just now does not come back as it went in.
        case notKept
    }

    /// Its length, in bytes: an Ed25519 seed's and a ChaCha20-Poly1305 key's.
    public static let length = 32

    /// What stands before the kept bytes.
    private enum Form: UInt8 {
        case plain = 1
        case sealed = 2
    }

    /// The secret, made the first time it is asked for.
    ///
    /// - Parameters:
    ///   - vault: where it is kept.
    ///   - enclave: what seals it there.
    ///   - fresh: as many bytes from the secure random source; given by tests.
    /// - Throws: `Fault`, or what vault and enclave throw.
    public static func read(
        vault: some Vault, enclave: some Enclave, fresh: (Int) -> Data = freshBytes
    ) throws -> Data {
        if let item = try vault.find() { return try opened(item, enclave) }
        let secret = fresh(length)
        let item: Data =
            if let sealed = try enclave.seal(secret) { Data([Form.sealed.rawValue]) + sealed } else {
                Data([Form.plain.rawValue]) + secret
            }
        try vault.keep(item)
        // A journal made under a secret that does not come back could never be opened again.
        guard let kept = try vault.find(), try opened(kept, enclave) == secret else {
            throw Fault.notKept
        }
        return secret
    }

    private static func opened(_ item: Data, _ enclave: some Enclave) throws -> Data {
        guard let first = item.first, let form = Form(rawValue: first) else {
            throw Fault.unreadable
        }
        let rest = Data(item.dropFirst())
        let secret =
            switch form {
            case .plain: rest
            case .sealed: try enclave.open(rest)
            }
        guard secret.count == length else { throw Fault.unreadable }
        return secret
    }
}
