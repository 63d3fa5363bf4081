// Declarations only, for tests on Linux: the part of UIKit that this app uses, as we read its
// documentation. Nothing here does anything, and nothing of it goes onto a phone.

@_exported import Foundation

@MainActor
open class UIResponder: NSObject {
    open var canBecomeFirstResponder: Bool { undone() }
    open var isFirstResponder: Bool { undone() }
    @discardableResult open func becomeFirstResponder() -> Bool { undone() }
    @discardableResult open func resignFirstResponder() -> Bool { undone() }
    open func pressesBegan(_ presses: Set<UIPress>, with event: UIPressesEvent?) { undone() }
}

@MainActor
open class UIView: UIResponder {
    public init(frame: CGRect) { undone() }
    public required init?(coder: NSCoder) { undone() }
    open class var layerClass: AnyClass { undone() }
    open var layer: CALayer { undone() }
    open func layoutSubviews() { undone() }
    open func setNeedsLayout() { undone() }
}

open class CALayer: NSObject {}

@MainActor
open class UIPress: NSObject {
    open var timestamp: TimeInterval { undone() }
    open var key: UIKey? { undone() }
}

@MainActor
open class UIPressesEvent: NSObject {}

@MainActor
open class UIKey: NSObject {
    open var characters: String { undone() }
    open var keyCode: UIKeyboardHIDUsage { undone() }
}

public enum UIKeyboardHIDUsage: Int, Sendable {
    case keyboardReturnOrEnter = 0x28
    case keyboardTab = 0x2B
    case keyboardPageUp = 0x4B
    case keyboardPageDown = 0x4E
    case keyboardDownArrow = 0x51
    case keyboardUpArrow = 0x52
    case keypadEnter = 0x58
}

@MainActor
open class UIApplication: UIResponder {
    public struct LaunchOptionsKey: Hashable, RawRepresentable, Sendable {
        public let rawValue: String
        public init(rawValue: String) { self.rawValue = rawValue }
    }
    public class var shared: UIApplication { undone() }
    open var isIdleTimerDisabled: Bool {
        get { undone() }
        set {}
    }
}

@MainActor
open class UIDevice: NSObject {
    public enum BatteryState: Int, Sendable {
        case unknown, unplugged, charging, full
    }
    public class var current: UIDevice { undone() }
    open var isBatteryMonitoringEnabled: Bool {
        get { undone() }
        set {}
    }
    open var batteryLevel: Float { undone() }
    open var batteryState: BatteryState { undone() }
    public nonisolated class var batteryLevelDidChangeNotification: NSNotification.Name { undone() }
    public nonisolated class var batteryStateDidChangeNotification: NSNotification.Name { undone() }
}

@MainActor
public protocol UIApplicationDelegate: NSObjectProtocol {
    func application(
        _ application: UIApplication,
        didFinishLaunchingWithOptions launchOptions: [UIApplication.LaunchOptionsKey: Any]?
    ) -> Bool
    func application(
        _ application: UIApplication, handleEventsForBackgroundURLSession identifier: String,
        completionHandler: @escaping () -> Void)
}

@MainActor
open class UIViewController: UIResponder {}

@MainActor
open class UIActivity: NSObject {}

@MainActor
open class UIActivityViewController: UIViewController {
    public init(activityItems: [Any], applicationActivities: [UIActivity]?) { undone() }
}

@MainActor
open class UIFeedbackGenerator: NSObject {
    open func prepare() { undone() }
}

@MainActor
open class UINotificationFeedbackGenerator: UIFeedbackGenerator {
    public enum FeedbackType: Int, Sendable { case success, warning, error }
    open func notificationOccurred(_ notificationType: FeedbackType) { undone() }
}

public class UIFont: NSObject, @unchecked Sendable {
    public class func systemFont(ofSize fontSize: CGFloat) -> UIFont { undone() }
    public class func boldSystemFont(ofSize fontSize: CGFloat) -> UIFont { undone() }
    public var ascender: CGFloat { undone() }
}

public class UIColor: NSObject, @unchecked Sendable {
    public class var black: UIColor { undone() }
    public func setFill() { undone() }
}

public class UIGraphicsPDFRendererContext: NSObject {
    public func beginPage() { undone() }
    public func fill(_ rect: CGRect) { undone() }
}

public class UIGraphicsPDFRenderer: NSObject {
    public init(bounds: CGRect) { undone() }
    public func pdfData(actions: (UIGraphicsPDFRendererContext) -> Void) -> Data { undone() }
}

extension NSAttributedString.Key {
    public static var font: NSAttributedString.Key { undone() }
}

extension NSString {
    public func size(withAttributes attrs: [NSAttributedString.Key: Any]?) -> CGSize { undone() }
    public func draw(at point: CGPoint, withAttributes attrs: [NSAttributedString.Key: Any]?) {
        undone()
    }
}

private func undone() -> Never { fatalError("declarations only") }
