import Foundation
import StandsquareCore

/// The app from its start to the first glass.
public enum Opening: Sendable {
    /// The record is being opened; the text says so.
    case underWay(String)
    /// Here is the session.
    case done(SessionModel)
    /// The record cannot be used; the state says what to do.
    case failed(FaultState)

    /// Whether there is a session to feed.
    public var isDone: Bool { if case .done = self { true } else { false } }

    /// What shows before anything is known.
    public static func begin(_ shelf: Shelf, _ looks: Looks) -> Opening {
        .underWay(shelf.words(looks.language)("ui.opening"))
    }

    /// Opens the record.
    ///
    /// - Parameters:
    ///   - folder: where it is kept, made if it is not there.
    ///   - secret: the phone's 32 bytes, from its key store.
    ///   - platform: the phone around the session.
    ///   - shelf: the words of every language.
    ///   - looks: the person's choice of language and look.
    @MainActor
    public static func open(
        folder: URL, secret: @Sendable () throws -> Data, platform: any Platform, shelf: Shelf,
        looks: Looks = Looks(), moments: any MomentSource = PhoneMoment()
    ) async -> Opening {
        do {
            try FileManager.default.createDirectory(at: folder, withIntermediateDirectories: true)
            let gateway = try await CoreGateway.open(
                folder: folder, secret: secret(), moments: moments)
            return .done(
                try await SessionModel(
                    gateway: gateway, platform: platform, shelf: shelf, looks: looks))
        } catch {
            return .failed(FaultState(error, words: shelf.words(looks.language)))
        }
    }
}
