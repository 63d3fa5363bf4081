import Foundation
import StandsquareCore
import Testing

@testable import StandsquareModel

/// A phone at the table, driven as the views drive it: by the buttons and choices of the glass.
/// The roster and what the reader sends are those of the recorded sessions.
@MainActor
final class Table {
    let platform: PlayedPlatform
    let words: Words
    private let folder: Folder
    private let looks: Looks
    private let moments: any MomentSource
    private let secret: Data
    private var open: (gateway: CoreGateway, model: SessionModel)?

    /// The measurers of the demo, with PINs.
    nonisolated static let pins = [("ottoline", "4711"), ("bram", "2580")]

    convenience init(
        _ platform: PlayedPlatform = PlayedPlatform(), looks: Looks = Looks()
    ) async throws {
        try await self.init(
            platform, looks: looks, secret: Data(repeating: 7, count: 32),
            moments: CountedMoments())
    }

    /// With a phone's secret and moments of the test's own, such as a recording's.
    init(
        _ platform: PlayedPlatform, looks: Looks = Looks(), secret: Data,
        moments: any MomentSource
    ) async throws {
        folder = try Folder()
        self.platform = platform
        self.looks = looks
        self.secret = secret
        self.moments = moments
        words = try Places.words(looks.language.rawValue)
        try await reopen()
    }

    var model: SessionModel { open!.model }
    var gateway: CoreGateway { open!.gateway }
    var glass: GlassState { model.glass }

    /// As after the app was ended: everything in memory is gone, the folder is opened anew.
    func reopen() async throws {
        open = nil
        let gateway = try await CoreGateway.open(
            folder: folder.url, secret: secret, moments: moments)
        open = (
            gateway,
            try await SessionModel(
                gateway: gateway, platform: platform, shelf: Places.shelf(), looks: looks,
                timers: false)
        )
    }

    /// Presses the button of this id.
    func press(_ id: String, _ at: SourceLocation = #_sourceLocation) async throws {
        let there = glass.buttons.map(\.id)
        let button = try #require(
            glass.button(id), "'\(id)' is not on '\(glass.title)'; there are \(there)",
            sourceLocation: at)
        await model.send(button.tap)
    }

    /// From nothing to an open queue with the reader connected.
    func setUp() async throws {
        await model.loadRoster(try Recorded.roster())
        try await press("start_session")
        try await press("set_venue")
        for reading in [(420, -130), (180, -310)] as [(Int32, Int32)] {
            guard case .surface(let surface) = glass.screen else { throw Stray(glass) }
            let button = try #require(glass.mainButton)
            #expect(surface.isReading(button))
            await model.send(surface.entry.tap(xMdeg: reading.0, yMdeg: reading.1))
        }
        try await press("surface_done")
        guard case .hoops(let hoops) = glass.screen else { throw Stray(glass) }
        for id in hoops.hoops.map(\.id) {
            guard case .hoops(let now) = glass.screen else { throw Stray(glass) }
            let hoop = try #require(now.hoops.first { $0.id == id })
            await model.send(try #require(hoop.choices.first).tap)
        }
        try await press("hoops_done")
        for (person, pin) in Self.pins {
            guard case .measurers(let measurers) = glass.screen else { throw Stray(glass) }
            let line = try #require(measurers.people.first { $0.id == person })
            await model.send(line.toggle)
            guard case .pin(let state) = glass.screen else { throw Stray(glass) }
            await model.send(state.entry.tap(digits: pin))
        }
        try await press("open_queue")
        await model.readerLink(.connected, name: "Table reader")
    }

    /// A routine dog up to the chip.
    func toTheChip(_ dog: String) async throws {
        guard case .queue(let queue) = glass.screen else { throw Stray(glass) }
        let line = try #require(queue.waiting.dogs.first { $0.id == dog })
        await model.send(try #require(line.call))
        try await press("book_agrees")
        try await press("handler_all_clear")
    }

    /// The reader reads this dog's chip.
    func scan(_ dog: String) async throws {
        for bytes in try Recorded.scan(of: dog) {
            await model.readerBytes(bytes)
        }
    }

    /// From the chip to the hoop.
    func toTheHoop(_ dog: String = "pip") async throws {
        try await toTheChip(dog)
        try await scan(dog)
        try await press("settled")
        try await press("stands_square")
    }

    /// Pip, flat at the first placing: up to the signatures.
    func toTheSignatures() async throws {
        try await toTheChip("pip")
        try await scan("pip")
        try await press("settled")
        try await press("stands_square")
        try await press("base_flat")
    }

    /// This person signs with these digits.
    func sign(_ person: String, _ pin: String) async throws {
        guard case .sign(let sign) = glass.screen else { throw Stray(glass) }
        let seat = try #require(sign.seats.first { $0.id == person })
        await model.send(try #require(seat.entry, "they have signed already").tap(digits: pin))
    }
}

/// The glass is not where the test thought it was.
struct Stray: Error, CustomStringConvertible {
    let description: String

    init(_ glass: GlassState) {
        description = "on '\(glass.title)': \(glass.notice?.text ?? "no notice")"
    }
}

/// A clock that moves two seconds an act, and counted bytes for randomness.
final class CountedMoments: MomentSource, @unchecked Sendable {
    private let lock = NSLock()
    private var count: UInt64 = 0

    func stamp() -> Stamp {
        lock.withLock {
            count += 1
            let bytes = withUnsafeBytes(of: count.bigEndian) { Data($0) }
            // 2026-11-25T09:00:00Z, as in the recorded sessions.
            return Stamp(
                atMs: 1_795_597_200_000 + Int64(count) * 2_000, offsetMin: 60,
                entropy: bytes + Data(count: 24))
        }
    }
}

/// The phone around the session, played: it remembers what it was asked.
actor PlayedPlatform: Platform {
    private(set) var signals: [Signal] = []
    private(set) var shared: [SharedFile] = []
    private(set) var asked: [(path: String, body: Data)] = []
    private let reply: OfficeReply

    init(
        office reply: OfficeReply = .unreachable(reason: "no signal in the hall"),
        finger: Finger? = nil
    ) {
        self.reply = reply
        self.finger = finger
    }

    /// Whose finger is put on the phone.
    enum Finger { case owners, unknown }

    /// None where the phone has no biometrics.
    private var finger: Finger?
    private var kept: Data?
    /// What the owner was asked for.
    private(set) var reasons: [String] = []

    func put(_ finger: Finger) { self.finger = finger }

    /// The system throws away what was kept.
    func enrolAnother() { kept = nil }

    func ownerCan() -> Bool { finger != nil }

    func askOwner(why: String, keep: Data) -> OwnerReply {
        reasons.append(why)
        if finger != .owners { return .left }
        if !keep.isEmpty { kept = keep }
        return kept.map { .given(secret: $0) } ?? .gone
    }

    func play(_ signal: Signal, heard: Bool, felt: Bool) { signals.append(signal) }

    func share(_ file: SharedFile) { shared.append(file) }

    private(set) var printed: [SheetState] = []

    func print(_ sheet: SheetState) { printed.append(sheet) }

    /// Packets that were to be sent.
    private(set) var packets: [Data] = []
    private var heard: (@Sendable (Data) -> Void)?

    func sendPackets(
        _ packets: [Data], address: String, heard: @escaping @Sendable (Data) -> Void
    ) {
        self.packets += packets
        self.heard = heard
    }

    /// A packet comes back.
    func comesBack(_ packet: Data) { heard?(packet) }

    func askOffice(address: String, path: String, body: Data) async -> OfficeReply {
        asked.append((path, body))
        for waiting in awaiting where asked.count >= waiting.count { waiting.heard.resume() }
        awaiting.removeAll { asked.count >= $0.count }
        if held != nil { await withCheckedContinuation { held?.append($0) } }
        return reply
    }

    /// Waits until so many requests have arrived.
    func asked(times count: Int) async {
        if asked.count >= count { return }
        await withCheckedContinuation { awaiting.append((count, $0)) }
    }

    private var awaiting: [(count: Int, heard: CheckedContinuation<Void, Never>)] = []

    /// From now on the office's answers are held back until they are let go.
    func hold() { held = [] }

    /// All answers that were held back come, and those after them at once.
    func letGo() {
        let waiting = held ?? []
        held = nil
        for answer in waiting { answer.resume() }
    }

    private var held: [CheckedContinuation<Void, Never>]?
}

/// What the recorded sessions hold of the world around the phone.
enum Recorded {
    private static let names = ["three-dogs", "refusals", "put-right", "each-their-own", "not-on-the-list",
        "practice",
    ]

    private static func acts() throws -> [[Act]] {
        try names.map { try Places.replay($0).recording.steps.map(\.act) }
    }

    /// The roster's text.
    static func roster() throws -> String {
        for case .loadRoster(let text) in try acts().joined() { return text }
        throw Missing(what: "a roster")
    }

    /// What the reader sent for this dog, in the pieces it came in: of the first visit in which
    /// the chip was taken for the book's.
    static func scan(of dog: String) throws -> [Data] {
        for acts in try acts() {
            guard
                let call = acts.firstIndex(where: {
                    if case .callDog(let id) = $0 { id == dog } else { false }
                })
            else { continue }
            let pieces = acts[call...]
                .drop { if case .readerBytes = $0 { false } else { true } }
                .prefix { if case .readerBytes = $0 { true } else { false } }
            return pieces.compactMap { if case .readerBytes(let bytes) = $0 { bytes } else { nil } }
        }
        throw Missing(what: "a scan of \(dog)")
    }

    /// What the reader sent where another dog's chip was held to it.
    static func wrongScan() throws -> [Data] {
        let acts = try Places.replay("refusals").recording.steps.map(\.act)
        let pieces = acts.prefix { if case .scanAgain = $0 { false } else { true } }
            .suffix(while: { if case .readerBytes = $0 { true } else { false } })
        return pieces.compactMap { if case .readerBytes(let bytes) = $0 { bytes } else { nil } }
    }

    struct Missing: Error {
        let what: String
    }
}

extension BidirectionalCollection {
    /// The last elements that all satisfy this.
    fileprivate func suffix(while ours: (Element) -> Bool) -> SubSequence {
        var first = endIndex
        while first > startIndex, ours(self[index(before: first)]) {
            first = index(before: first)
        }
        return self[first...]
    }
}
