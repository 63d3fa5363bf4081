import Foundation

/// What the office said to a request, or that it could not be asked.
public enum OfficeReply: Sendable, Equatable {
    /// It answered, with this HTTP status and body.
    case answered(status: UInt16, body: Data)
    /// There was no answer; the reason is for the log only.
    case unreachable(reason: String)
}

/// A short sound or buzz, told apart without looking.
public enum Signal: Sendable, Equatable, CaseIterable {
    case chipMatches, chipDiffers, refused, done
}

/// A file for the share sheet.
public struct SharedFile: Sendable, Equatable {
    public let name: String
    public let mediaType: String
    public let content: Data

    /// A file of this content.
    public init(name: String, mediaType: String, content: Data) {
        self.name = name
        self.mediaType = mediaType
        self.content = content
    }
}

/// What became of asking the owner for their biometrics.
public enum OwnerReply: Sendable, Equatable {
    /// What the key store was given to keep.
    case given(secret: Data)
    /// There is nothing to give up any more, or nothing can be kept.
    case gone
    /// Not this time; the PIN is always there.
    case left
}

/// What the session asks of the phone it runs on. Device implements it; tests play it.
public protocol Platform: Sendable {
    /// Makes a sound, if it is to be heard, and a buzz, if it is to be felt.
    func play(_ signal: Signal, heard: Bool, felt: Bool) async
    /// Sends a body to the office at this address (empty: the one this build was given), at
    /// this path.
    func askOffice(address: String, path: String, body: Data) async -> OfficeReply
    /// Sends each of these packets by itself (UDP) to the host and port of this address (empty:
    /// the one this build was given); what comes back is told to `heard`. One that cannot be
    /// sent is a lost one.
    func sendPackets(_ packets: [Data], address: String, heard: @escaping @Sendable (Data) -> Void) async
    /// Offers a file to the share sheet.
    func share(_ file: SharedFile) async
    /// Makes a PDF of this sheet and offers it to the share sheet, which prints too.
    func print(_ sheet: SheetState) async
    /// Whether the phone has biometrics that somebody enrolled and that can guard a secret.
    func ownerCan() async -> Bool
    /// Asks the owner, saying why, and gives what only their biometrics give up; after putting
    /// `keep` in place of any before, if it is not empty.
    func askOwner(why: String, keep: Data) async -> OwnerReply
}

extension Platform {
    public func ownerCan() async -> Bool { false }
    public func askOwner(why: String, keep: Data) async -> OwnerReply { .gone }
}
