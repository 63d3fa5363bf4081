// Must not compile in Swift 6 mode: what many threads may touch is not safe to share.
#if canImport(Security)
import Security

enum Shared {
    static let query: [CFString: Any] = [kSecClass: kSecClassKey]
}
#endif
