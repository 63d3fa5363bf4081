import Foundation
import StandsquareCore

// The library that goes onto a phone (`cargo xtask library`) reads no recordings: building
// the app with it, define PHONE_LIBRARY.
#if !PHONE_LIBRARY

/// Does the acts of a recorded session, each at its recorded moment on the view that the one
/// before it gave. A recording gives the same files on every phone.
public struct Replay: Sendable {
    public let recording: Recording

    /// Reads a recording.
    ///
    /// - Throws: `RecordingFault`, which says where the text is wrong.
    public init(text: String) throws {
        recording = try readRecording(text: text)
    }

    /// Opens the phone of the recording in this folder. That it has biometrics is said at each
    /// opening, as an app does.
    public func open(in folder: URL) throws -> Phone {
        let phone = try Phone.open(
            dir: folder.path, deviceSecret: recording.deviceSecret, stamp: recording.opened)
        if case .ownerCan = recording.steps.first?.act { _ = try perform(0, on: phone) }
        return phone
    }

    /// Does one step and gives what the core answered.
    public func perform(_ step: Int, on phone: Phone) throws -> Answer {
        let recorded = recording.steps[step]
        return try phone.apply(
            act: recorded.act, seen: try phone.view().revision, stamp: recorded.stamp)
    }
}

#endif
