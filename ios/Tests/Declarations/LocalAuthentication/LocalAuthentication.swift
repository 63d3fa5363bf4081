// Declarations only, for tests on Linux: the part of LocalAuthentication that this app uses, as
// we read its documentation. Nothing here does anything, and nothing of it goes onto a phone.

public enum LAPolicy: Int, Sendable {
    case deviceOwnerAuthenticationWithBiometrics = 1
}

public final class LAContext {
    public init() {}
    public var localizedReason = ""

    public func canEvaluatePolicy(_ policy: LAPolicy, error: UnsafeMutablePointer<AnyObject?>?)
        -> Bool
    { fatalError("declarations only") }
}
