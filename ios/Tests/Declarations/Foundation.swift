// Declarations only, for tests on Linux: what Foundation has on Apple's systems and not here,
// as far as this app uses it. Compiled into each module that is type-checked, since Foundation
// itself is the real one.
import Foundation

#if canImport(FoundationNetworking)
import FoundationNetworking

extension URLSessionConfiguration {
    class func background(withIdentifier identifier: String) -> URLSessionConfiguration {
        fatalError("declarations only")
    }
    var isDiscretionary: Bool {
        get { fatalError("declarations only") }
        set {}
    }
    var sessionSendsLaunchEvents: Bool {
        get { fatalError("declarations only") }
        set {}
    }
}
#endif

extension URL {
    static var applicationSupportDirectory: URL { fatalError("declarations only") }
    func startAccessingSecurityScopedResource() -> Bool { fatalError("declarations only") }
    func stopAccessingSecurityScopedResource() { fatalError("declarations only") }
}
