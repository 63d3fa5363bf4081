#if canImport(Security) && canImport(LocalAuthentication)
import Foundation
import LocalAuthentication
import Security
import StandsquareModel

/// A secret in the Keychain that this phone gives up only to its owner's biometrics; the system
/// throws it away when a finger or a face is added.
enum OwnerUnlock {
    private static var identity: [CFString: Any] {
        [
            kSecClass: kSecClassGenericPassword,
            kSecAttrService: "standsquare",
            kSecAttrAccount: "owner",
        ]
    }

    /// Whether this phone has biometrics, and somebody's are enrolled.
    static var can: Bool {
        LAContext().canEvaluatePolicy(.deviceOwnerAuthenticationWithBiometrics, error: nil)
    }

    /// Asks the owner and gives the secret, after putting `keep` in place of any before if it is
    /// not empty. Waits for the system's dialogue: not for the main thread.
    static func get(why: String, keep: Data) -> OwnerReply {
        if !keep.isEmpty, !isKept(keep) { return .gone }
        let context = LAContext()
        context.localizedReason = why
        var query = identity
        query[kSecReturnData] = true
        query[kSecUseAuthenticationContext] = context
        var found: CFTypeRef?
        switch SecItemCopyMatching(query as CFDictionary, &found) {
        case errSecSuccess:
            guard let secret = found as? Data else { return .gone }
            return .given(secret: secret)
        case errSecItemNotFound: return .gone
        // Left, or not known this time: the item is there as it was.
        default: return .left
        }
    }

    private static func isKept(_ secret: Data) -> Bool {
        guard
            let access = SecAccessControlCreateWithFlags(
                nil, kSecAttrAccessibleWhenPasscodeSetThisDeviceOnly, .biometryCurrentSet, nil)
        else { return false }
        _ = SecItemDelete(identity as CFDictionary)
        var attributes = identity
        attributes[kSecValueData] = secret
        attributes[kSecAttrAccessControl] = access
        return SecItemAdd(attributes as CFDictionary, nil) == errSecSuccess
    }
}
#endif
