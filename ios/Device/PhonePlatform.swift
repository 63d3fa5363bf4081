#if canImport(UIKit) && canImport(AudioToolbox)
import AudioToolbox
import Foundation
import Observation
import StandsquareModel
import UIKit

/// What the session asks of an iPhone.
public struct PhonePlatform: Platform {
    private let office: any OfficeCarrier
    private let packets: PacketLink
    private let tray: ShareTray

    public init(office: any OfficeCarrier, packets: PacketLink, tray: ShareTray) {
        self.office = office
        self.packets = packets
        self.tray = tray
    }

    public func play(_ signal: Signal, heard: Bool, felt: Bool) async {
        if felt { await buzz(signal) }
        if heard { AudioServicesPlaySystemSound(signal.sound) }
    }

    private func buzz(_ signal: Signal) async {
        await MainActor.run {
            let buzz = UINotificationFeedbackGenerator()
            switch signal {
            case .chipMatches, .done: buzz.notificationOccurred(.success)
            case .chipDiffers: buzz.notificationOccurred(.warning)
            case .refused: buzz.notificationOccurred(.error)
            }
        }
    }

    public func askOffice(address: String, path: String, body: Data) async -> OfficeReply {
        await office.ask(address: address, path: path, body: body)
    }

    public func sendPackets(
        _ packets: [Data], address: String, heard: @escaping @Sendable (Data) -> Void
    ) async {
        await self.packets.send(packets, address: address, heard: heard)
    }

    public func share(_ file: SharedFile) async {
        await tray.offer(file)
    }

    public func ownerCan() async -> Bool { OwnerUnlock.can }

    public func askOwner(why: String, keep: Data) async -> OwnerReply {
        // The Keychain waits for the dialogue: on a thread that nobody draws on.
        await Task.detached { OwnerUnlock.get(why: why, keep: keep) }.value
    }

    public func print(_ sheet: SheetState) async {
        let pdf = await PdfPage.pdf(sheet)
        await tray.offer(
            SharedFile(name: sheet.name, mediaType: "application/pdf", content: pdf))
    }
}

/// A file that waits for the share sheet; the root view shows the sheet while there is one.
@MainActor
@Observable
public final class ShareTray {
    /// The file, written where the sheet can take it from.
    public var file: URL?

    public init() {}

    func offer(_ shared: SharedFile) {
        let url = FileManager.default.temporaryDirectory.appending(path: shared.name)
        do {
            try shared.content.write(to: url, options: .completeFileProtection)
            file = url
        } catch {
            // The return itself is safe in the journal; the sheet can be asked for again.
            file = nil
        }
    }
}

extension Signal {
    /// The system's own short sounds, as far apart as it has them.
    fileprivate var sound: SystemSoundID {
        switch self {
        case .chipMatches: 1057
        case .chipDiffers: 1073
        case .refused: 1053
        case .done: 1104
        }
    }
}
#endif
