import Foundation
import Observation
import StandsquareCore

/// What the screens hold: the glass to draw, and the way to send back what a finger did.
///
/// It decides nothing. Acts are done one after another in the order they were sent, whatever
/// thread or task they come from, so that an answer never overtakes a later one.
@MainActor
@Observable
public final class SessionModel {
    /// What to draw.
    public private(set) var glass: GlassState
    /// Why the record itself could not be written or read, until the next act succeeds.
    public private(set) var fault: FaultState?
    /// The person's choice of language and look; the app keeps it.
    public private(set) var looks: Looks

    private let gateway: CoreGateway
    private let platform: any Platform
    private let shelf: Shelf
    private let timers: Bool
    @ObservationIgnored private var last: Task<Void, Never>?
    @ObservationIgnored private var view: View
    /// What failed last, to be said anew in another language.
    @ObservationIgnored private var failed: (any Error)?

    /// Draws what the phone shows now.
    ///
    /// - Parameter timers: whether the core is woken when it asks; a replay brings its own time.
    public init(
        gateway: CoreGateway, platform: any Platform, shelf: Shelf, looks: Looks = Looks(),
        timers: Bool = true
    ) async throws {
        let view = try await gateway.view()
        self.gateway = gateway
        self.platform = platform
        self.shelf = shelf
        self.timers = timers
        self.looks = looks
        self.view = view
        glass = GlassState(view, words: shelf.words(looks.language))
        // Only where they can be asked for are biometrics ever offered.
        if await platform.ownerCan() { await world(.ownerCan(can: true)) }
    }

    /// The choice of language and look, to be drawn.
    public var looksState: LooksState { LooksState(looks, shelf) }

    /// Says everything in another language from now on. Nothing else changes: the core speaks
    /// in keys.
    public func choose(_ language: Language) {
        looks.language = language
        let words = shelf.words(language)
        glass = GlassState(view, words: words)
        fault = failed.map { FaultState($0, words: words) }
    }

    /// Changes to the other look.
    public func changeLook() {
        looks.take(.look(looks.look.other))
    }

    /// Takes what the person chose in the settings.
    public func change(_ change: LooksChange) {
        looks.take(change)
    }

    /// Does what was tapped, and returns once it is answered.
    public func send(_ tap: Tap) async {
        await inTurn(tap.act, seen: tap.seen)
    }

    // What comes from the world around the phone: taken whatever is on the screen.

    /// The radio to the reader changed. `reader` is what the platform knows it by.
    public func readerLink(_ link: LinkState, name: String, reader: String = "") async {
        await world(.readerLink(link: link.core, name: name, reader: reader))
    }

    /// The radio heard a reader; `signal` is its strength in dBm where the radio tells.
    public func readerSeen(_ reader: String, name: String, way: ReaderWay, signal: Int32?) async {
        await world(
            .readerSeen(reader: reader, name: name, carrier: way.core, signalDbm: signal))
    }

    /// A reader told what is left in its battery.
    public func readerBattery(_ reader: String, percent: UInt8) async {
        await world(.readerBattery(reader: reader, percent: percent))
    }

    /// A code printed in a record book was scanned.
    public func bookCode(_ code: String) async {
        await world(.bookCode(code: code))
    }

    /// Bytes from the reader, cut wherever the radio cut them.
    public func readerBytes(_ bytes: Data) async {
        await world(.readerBytes(bytes: bytes))
    }

    /// Whether the two keys of a clicker are listened to now.
    public var listensToKeys: Bool {
        if case .placing(let placing) = view.screen { placing.keys != nil } else { false }
    }

    /// One of a clicker's two keys was pressed: the one for up, or the one for down. Nothing,
    /// where the view listens to none.
    public func pressed(up: Bool) async {
        guard listensToKeys else { return }
        await inTurn(.pressKey(key: up ? .first : .second), seen: view.revision)
    }

    /// A second has passed.
    public func tick() async {
        await world(.tick)
    }

    /// The network came back or changed: what waits for the office is tried again at once.
    public func networkChanged() async {
        await world(.networkChanged)
    }

    /// The app came to the foreground: somebody may have been enrolled, or the network have
    /// changed, meanwhile.
    public func cameToFront() async {
        await world(.ownerCan(can: await platform.ownerCan()))
        await networkChanged()
    }

    /// What is left in the phone's own battery changed, or whether it is being charged.
    public func battery(percent: UInt8, charging: Bool) async {
        await world(.battery(percent: percent, charging: charging))
    }

    /// A roster's text, as the office wrote it.
    public func loadRoster(_ text: String) async {
        await inTurn(.loadRoster(text: text), seen: nil)
    }

    private func world(_ act: Act) async {
        await inTurn(act, seen: nil)
    }

    private func inTurn(_ act: Act, seen: Int64?) async {
        let before = last
        let task = Task {
            await before?.value
            await self.perform(act, seen: seen ?? self.view.revision)
        }
        last = task
        await task.value
    }

    private func perform(_ act: Act, seen: Int64) async {
        do {
            let answer = try await gateway.apply(act, seen: seen)
            fault = nil
            failed = nil
            view = answer.view
            glass = GlassState(answer.view, words: shelf.words(looks.language))
            for effect in answer.effects {
                await carryOut(effect)
            }
        } catch {
            failed = error
            fault = FaultState(error, words: shelf.words(looks.language))
        }
    }

    private func carryOut(_ effect: Effect) async {
        switch effect {
        case .play(let cue):
            await platform.play(Signal(cue), heard: looks.sounds, felt: looks.buzzes)
        case .share(let name, let mediaType, let bytes):
            await platform.share(SharedFile(name: name, mediaType: mediaType, content: bytes))
        case .print(let name, let sheet):
            let drawing = Drawing(words: shelf.words(looks.language), seen: view.revision)
            await platform.print(SheetState(name, sheet, drawing))
        case .askOwner(let why, let keep):
            // Not waited for: the system's dialogue stays as long as it likes.
            let platform = platform
            let said = shelf.words(looks.language)(why)
            owner = Task {
                switch await platform.askOwner(why: said, keep: keep) {
                case .given(let secret): await self.world(.ownerUnlock(secret: secret))
                case .gone: await self.world(.ownerGone)
                case .left: break
                }
            }
        case .askOffice(let request, let path, let body, let address):
            // Not waited for: the hall's signal must not hold the next tap up. Several can be
            // on their way at a time.
            let platform = platform
            asked[request] = Task {
                let reply = await platform.askOffice(
                    address: address, path: path, body: body)
                // Given up meanwhile: nobody waits for it.
                if !Task.isCancelled { await self.world(reply.act(request: request)) }
                self.asked[request] = nil
            }
        case .sendPackets(let packets, let address):
            await platform.sendPackets(packets, address: address) { [weak self] packet in
                // One that comes late must not hold the record open.
                Task { await self?.world(.packetCame(bytes: packet)) }
            }
        case .dropRequest(let request):
            asked.removeValue(forKey: request)?.cancel()
        case .wakeAt(let atMs):
            wake?.cancel()
            guard timers else { return }
            wake = Task {
                let left = atMs - Int64(Date().timeIntervalSince1970 * 1000)
                guard (try? await Task.sleep(for: .milliseconds(max(0, left)))) != nil else {
                    return
                }
                await self.tick()
            }
        }
    }

    /// Sends what the office does not have now, and waits for the answers. For the background:
    /// nobody is there to press the button again, so it is tried until nothing is left or an
    /// answer brought no progress.
    ///
    /// - Returns: how many dogs are still waiting.
    public func sendWaiting() async -> Int {
        var before = Int.max
        while glass.outbox.waiting > 0, glass.outbox.waiting < before, !Task.isCancelled {
            before = glass.outbox.waiting
            if let button = glass.button("send_return"), button.enabled {
                await send(button.tap)
            } else {
                await networkChanged()
            }
            await answered()
        }
        return glass.outbox.waiting
    }

    /// Waits until nothing is on its way to the office.
    public func answered() async {
        while let task = asked.values.first { await task.value }
    }

    /// Requests that are on their way to the office, by name.
    @ObservationIgnored private var asked: [String: Task<Void, Never>] = [:]
    /// The system's dialogue that is open, for whoever wants to wait for its end.
    @ObservationIgnored public private(set) var owner: Task<Void, Never>?
    /// The time at which the core wants to look again.
    @ObservationIgnored private var wake: Task<Void, Never>?
}

extension Signal {
    init(_ cue: Cue) {
        self =
            switch cue {
            case .chipMatches: .chipMatches
            case .chipDiffers: .chipDiffers
            case .refused: .refused
            case .done: .done
            }
    }
}

extension OfficeReply {
    func act(request: String) -> Act {
        switch self {
        case .answered(let status, let body):
            .officeAnswer(request: request, status: status, body: body)
        case .unreachable(let reason):
            .officeUnreachable(request: request, reason: reason)
        }
    }
}
