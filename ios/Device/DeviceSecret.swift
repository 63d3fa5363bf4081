#if canImport(Security)
import Foundation
import Security
import StandsquareModel

/// The 32 bytes that only this phone has, in its Keychain. They never leave it: not in a backup,
/// not to another phone of the same person.
public enum DeviceSecret {
    /// Why the Keychain gave nothing.
    public struct Refused: Error, Equatable {
        /// As Security.framework says it.
        public let status: OSStatus
    }

    private static let identity: [CFString: Any] = [
        kSecClass: kSecClassGenericPassword,
        kSecAttrService: "standsquare",
        kSecAttrAccount: "device",
    ]

    /// The secret, made the first time it is asked for.
    ///
    /// - Throws: `Refused`. Nothing is ever made anew when the Keychain cannot be read: the
    ///   journal could then not be opened any more.
    public static func read() throws -> Data {
        var query = identity
        query[kSecReturnData] = true
        var found: CFTypeRef?
        switch SecItemCopyMatching(query as CFDictionary, &found) {
        case errSecSuccess:
            guard let secret = found as? Data else { throw Refused(status: errSecDecode) }
            return secret
        case errSecItemNotFound:
            return try make()
        case let status:
            throw Refused(status: status)
        }
    }

    private static func make() throws -> Data {
        let secret = freshBytes(32)
        var item = identity
        item[kSecValueData] = secret
        // Readable while the phone is locked, for the background, but only after it was
        // unlocked once since it started.
        item[kSecAttrAccessible] = kSecAttrAccessibleAfterFirstUnlockThisDeviceOnly
        let status = SecItemAdd(item as CFDictionary, nil)
        guard status == errSecSuccess else { throw Refused(status: status) }
        return secret
    }
}
#endif
