#if canImport(Security)
import Foundation
import Security
import StandsquareModel

extension DeviceSecret {
    /// The secret of this phone: sealed by the Secure Enclave, kept in the Keychain.
    public static func read() throws -> Data {
        try read(vault: KeychainVault(), enclave: EnclaveKey())
    }
}

/// One item of the Keychain, for this phone only.
struct KeychainVault: Vault {
    private var identity: [CFString: Any] {
        [
            kSecClass: kSecClassGenericPassword,
            kSecAttrService: "standsquare",
            kSecAttrAccount: "device",
        ]
    }

    func find() throws -> Data? {
        var query = identity
        query[kSecReturnData] = true
        var found: CFTypeRef?
        switch SecItemCopyMatching(query as CFDictionary, &found) {
        case errSecSuccess:
            guard let item = found as? Data else { throw DeviceSecret.Fault.unreadable }
            return item
        case errSecItemNotFound:
            return nil
        case let status:
            // Locked since it started, for example: not the same as nothing there.
            throw DeviceSecret.Fault.refused(status: status)
        }
    }

    func keep(_ item: Data) throws {
        var attributes = identity
        attributes[kSecValueData] = item
        // Readable while the phone is locked, for the background, but only after it was
        // unlocked once since it started.
        attributes[kSecAttrAccessible] = kSecAttrAccessibleAfterFirstUnlockThisDeviceOnly
        let status = SecItemAdd(attributes as CFDictionary, nil)
        guard status == errSecSuccess else { throw DeviceSecret.Fault.refused(status: status) }
    }
}

/// A P-256 key that was made in the Secure Enclave and never leaves it.
struct EnclaveKey: Enclave {
    private static let tag = Data("standsquare.device".utf8)

    /// ECIES: to the key's public half, with AES-GCM; the private half opens.
    private var algorithm: SecKeyAlgorithm { .eciesEncryptionCofactorVariableIVX963SHA256AESGCM }

    func seal(_ plain: Data) throws -> Data? {
        guard let key = try key() ?? made(), let half = SecKeyCopyPublicKey(key) else {
            return nil
        }
        var error: Unmanaged<CFError>?
        guard let sealed = SecKeyCreateEncryptedData(half, algorithm, plain as CFData, &error)
        else { throw refused(error) }
        return sealed as Data
    }

    func open(_ sealed: Data) throws -> Data {
        guard let key = try key() else {
            throw DeviceSecret.Fault.refused(status: errSecItemNotFound)
        }
        var error: Unmanaged<CFError>?
        guard let plain = SecKeyCreateDecryptedData(key, algorithm, sealed as CFData, &error)
        else { throw refused(error) }
        return plain as Data
    }

    private func key() throws -> SecKey? {
        let query: [CFString: Any] = [
            kSecClass: kSecClassKey,
            kSecAttrApplicationTag: Self.tag,
            kSecAttrKeyType: kSecAttrKeyTypeECSECPrimeRandom,
            kSecReturnRef: true,
        ]
        var found: CFTypeRef?
        switch SecItemCopyMatching(query as CFDictionary, &found) {
        // Asked for a reference, the Keychain gives a key: its type cannot be tested by `as?`.
        case errSecSuccess: return found.map { $0 as! SecKey }
        case errSecItemNotFound: return nil
        case let status: throw DeviceSecret.Fault.refused(status: status)
        }
    }

    /// Makes the key; nothing where the phone (a simulator) has no Secure Enclave.
    private func made() throws -> SecKey? {
        var error: Unmanaged<CFError>?
        guard
            let access = SecAccessControlCreateWithFlags(
                nil, kSecAttrAccessibleAfterFirstUnlockThisDeviceOnly, .privateKeyUsage, &error)
        else { throw refused(error) }
        let own: [CFString: Any] = [
            kSecAttrIsPermanent: true,
            kSecAttrApplicationTag: Self.tag,
            kSecAttrAccessControl: access,
        ]
        let attributes: [CFString: Any] = [
            kSecAttrKeyType: kSecAttrKeyTypeECSECPrimeRandom,
            kSecAttrKeySizeInBits: 256,
            kSecAttrTokenID: kSecAttrTokenIDSecureEnclave,
            kSecPrivateKeyAttrs: own,
        ]
        guard let key = SecKeyCreateRandomKey(attributes as CFDictionary, &error) else {
            let fault = refused(error)
            if fault == .refused(status: errSecUnimplemented) { return nil }
            throw fault
        }
        return key
    }

    /// What Security.framework said, let go of.
    private func refused(_ error: Unmanaged<CFError>?) -> DeviceSecret.Fault {
        guard let error = error?.takeRetainedValue() else {
            return .refused(status: errSecInternalError)
        }
        return .refused(status: Int32(truncatingIfNeeded: CFErrorGetCode(error)))
    }
}
#endif
