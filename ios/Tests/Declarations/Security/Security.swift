// Declarations only, for tests on Linux: the part of Security that this app uses, as we read its
// documentation. Nothing here does anything, and nothing of it goes onto a phone.

import Foundation

// Core Foundation's types are bridged by the compiler on Apple's systems (`data as CFData`);
// here they are the Swift types that they are bridged to.
public typealias CFString = String
public typealias CFData = Data
public typealias CFDictionary = [CFString: Any]
public typealias CFTypeRef = AnyObject
public typealias CFIndex = Int

public final class CFError {}
public final class CFAllocator {}

public func CFErrorGetCode(_ err: CFError!) -> CFIndex { undone() }

public typealias OSStatus = Int32

public let errSecSuccess: OSStatus = 0
public let errSecUnimplemented: OSStatus = -4
public let errSecItemNotFound: OSStatus = -25300
public let errSecInternalError: OSStatus = -26276

public let kSecClass: CFString = ""
public let kSecClassGenericPassword: CFString = ""
public let kSecClassKey: CFString = ""
public let kSecAttrService: CFString = ""
public let kSecAttrAccount: CFString = ""
public let kSecAttrAccessible: CFString = ""
public let kSecAttrAccessibleAfterFirstUnlockThisDeviceOnly: CFString = ""
public let kSecAttrAccessControl: CFString = ""
public let kSecAttrAccessibleWhenPasscodeSetThisDeviceOnly: CFString = ""
public let kSecUseAuthenticationContext: CFString = ""
public let kSecAttrApplicationTag: CFString = ""
public let kSecAttrIsPermanent: CFString = ""
public let kSecAttrKeyType: CFString = ""
public let kSecAttrKeyTypeECSECPrimeRandom: CFString = ""
public let kSecAttrKeySizeInBits: CFString = ""
public let kSecAttrTokenID: CFString = ""
public let kSecAttrTokenIDSecureEnclave: CFString = ""
public let kSecPrivateKeyAttrs: CFString = ""
public let kSecReturnData: CFString = ""
public let kSecReturnRef: CFString = ""
public let kSecValueData: CFString = ""

public final class SecKey {}
public final class SecAccessControl {}

public struct SecAccessControlCreateFlags: OptionSet, Sendable {
    public let rawValue: UInt
    public init(rawValue: UInt) { self.rawValue = rawValue }
    public static let biometryCurrentSet = SecAccessControlCreateFlags(rawValue: 1 << 3)
    public static let privateKeyUsage = SecAccessControlCreateFlags(rawValue: 1 << 30)
}

public struct SecKeyAlgorithm: Hashable, Sendable {
    public static let eciesEncryptionCofactorVariableIVX963SHA256AESGCM = SecKeyAlgorithm()
}

public func SecItemCopyMatching(
    _ query: CFDictionary, _ result: UnsafeMutablePointer<CFTypeRef?>?
) -> OSStatus { undone() }

public func SecItemAdd(
    _ attributes: CFDictionary, _ result: UnsafeMutablePointer<CFTypeRef?>?
) -> OSStatus { undone() }

public func SecItemDelete(_ query: CFDictionary) -> OSStatus { undone() }

public func SecAccessControlCreateWithFlags(
    _ allocator: CFAllocator?, _ protection: CFTypeRef, _ flags: SecAccessControlCreateFlags,
    _ error: UnsafeMutablePointer<Unmanaged<CFError>?>?
) -> SecAccessControl? { undone() }

/// On Apple's systems a constant of the protection is a `CFTypeRef` as it stands.
public func SecAccessControlCreateWithFlags(
    _ allocator: CFAllocator?, _ protection: CFString, _ flags: SecAccessControlCreateFlags,
    _ error: UnsafeMutablePointer<Unmanaged<CFError>?>?
) -> SecAccessControl? { undone() }

public func SecKeyCreateRandomKey(
    _ parameters: CFDictionary, _ error: UnsafeMutablePointer<Unmanaged<CFError>?>?
) -> SecKey? { undone() }

public func SecKeyCopyPublicKey(_ key: SecKey) -> SecKey? { undone() }

public func SecKeyCreateEncryptedData(
    _ key: SecKey, _ algorithm: SecKeyAlgorithm, _ plaintext: CFData,
    _ error: UnsafeMutablePointer<Unmanaged<CFError>?>?
) -> CFData? { undone() }

public func SecKeyCreateDecryptedData(
    _ key: SecKey, _ algorithm: SecKeyAlgorithm, _ ciphertext: CFData,
    _ error: UnsafeMutablePointer<Unmanaged<CFError>?>?
) -> CFData? { undone() }

private func undone() -> Never { fatalError("declarations only") }
