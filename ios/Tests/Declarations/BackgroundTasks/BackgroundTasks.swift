// Declarations only, for tests on Linux: the part of BackgroundTasks that this app uses, as we read its
// documentation. Nothing here does anything, and nothing of it goes onto a phone.

import Foundation

open class BGTask: NSObject {
    open var identifier: String { undone() }
    /// Called on a thread of the system's choice.
    open var expirationHandler: (() -> Void)? {
        get { undone() }
        set {}
    }
    open func setTaskCompleted(success: Bool) { undone() }
}

open class BGProcessingTask: BGTask {}

open class BGTaskRequest: NSObject {
    open var earliestBeginDate: Date? {
        get { undone() }
        set {}
    }
}

open class BGProcessingTaskRequest: BGTaskRequest {
    public init(identifier: String) { undone() }
    open var requiresNetworkConnectivity: Bool {
        get { undone() }
        set {}
    }
    open var requiresExternalPower: Bool {
        get { undone() }
        set {}
    }
}

open class BGTaskScheduler: NSObject {
    public class var shared: BGTaskScheduler { undone() }
    @discardableResult
    open func register(
        forTaskWithIdentifier identifier: String, using queue: DispatchQueue?,
        launchHandler: @escaping (BGTask) -> Void
    ) -> Bool { undone() }
    open func submit(_ taskRequest: BGTaskRequest) throws { undone() }
}

private func undone() -> Never { fatalError("declarations only") }
