#if canImport(BackgroundTasks)
import BackgroundTasks
import Foundation
import StandsquareModel

/// Sends what waits while the app is not in front: after the day, when the signal is back.
///
/// The system says when. What is sent, and whether there is anything, is for the core: this only
/// presses the button that the core offers.
@MainActor
public enum BackgroundSending {
    /// As in Info.plist's `BGTaskSchedulerPermittedIdentifiers`.
    public static let identifier = "standsquare.send"

    /// Tells the system what to call. Must be called before the app has finished launching.
    ///
    /// - Parameter model: the session, opened if it is not; nothing if it cannot be.
    public static func register(_ model: @escaping @MainActor @Sendable () async -> SessionModel?) {
        BGTaskScheduler.shared.register(forTaskWithIdentifier: identifier, using: .main) { task in
            // Registered for the main queue, so it is handed to nobody else.
            nonisolated(unsafe) let task = task
            MainActor.assumeIsolated { run(task, model) }
        }
    }

    /// Asks for a turn, if anything waits; called as the app goes to the background.
    public static func schedule(waiting: Int) {
        guard waiting > 0 else { return }
        let wanted = BGProcessingTaskRequest(identifier: identifier)
        wanted.requiresNetworkConnectivity = true
        wanted.earliestBeginDate = Date(timeIntervalSinceNow: 15 * 60)
        // Refused on a simulator, or with background work switched off for the app: then it is
        // sent when the app is opened again.
        try? BGTaskScheduler.shared.submit(wanted)
    }

    private static func run(
        _ task: BGTask, _ model: @escaping @MainActor @Sendable () async -> SessionModel?
    ) {
        let sending = Task { @MainActor in
            let model = await model()
            let left = await model?.sendWaiting() ?? 0
            schedule(waiting: left)
            task.setTaskCompleted(success: model != nil && left == 0)
        }
        // Called on a thread of the system's choice.
        task.expirationHandler = { @Sendable in sending.cancel() }
    }
}
#endif
