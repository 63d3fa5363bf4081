#if canImport(SwiftUI) && canImport(UIKit)
import StandsquareDevice
import StandsquareModel
import StandsquareViews
import SwiftUI
import UIKit

/// The app: opens the record, and feeds the session with the radio's bytes and the seconds.
@main
struct StandsquareApp: App {
    @UIApplicationDelegateAdaptor(Delegate.self) private var delegate
    @Environment(\.scenePhase) private var phase

    var body: some Scene {
        WindowGroup {
            RootView(phone: delegate.phone)
                .onChange(of: phase) { _, now in
                    if now == .background { delegate.phone.goToBackground() }
                    if now == .active { Task { await delegate.phone.comeToTheFront() } }
                }
        }
    }
}

/// What the system calls before there is a window, and when it starts the app by itself.
@MainActor
final class Delegate: NSObject, UIApplicationDelegate {
    let phone = PhoneInHand()

    func application(
        _ application: UIApplication,
        didFinishLaunchingWithOptions options: [UIApplication.LaunchOptionsKey: Any]?
    ) -> Bool {
        BackgroundSending.register { [phone] in await phone.opened() }
        phone.listen()
        return true
    }

    func application(
        _ application: UIApplication, handleEventsForBackgroundURLSession identifier: String,
        completionHandler: @escaping () -> Void
    ) {
        // UIKit wants it called on the main thread.
        let done = UncheckedHandler(call: completionHandler)
        phone.office.resume { DispatchQueue.main.async { done.call() } }
    }
}

/// A closure of UIKit's, which does not say that it may change threads, though it may.
private struct UncheckedHandler: @unchecked Sendable {
    let call: () -> Void
}

/// The session and the phone around it, for as long as the app runs.
@MainActor
@Observable
final class PhoneInHand {
    private(set) var opening: Opening
    let tray = ShareTray()
    @ObservationIgnored let radio = ReaderRadio()
    @ObservationIgnored private(set) lazy var battery = Battery { [weak self] percent, charging in
        Task { await self?.opened()?.battery(percent: percent, charging: charging) }
    }
    @ObservationIgnored let office = BackgroundOffice(office: Office.url)
    @ObservationIgnored private let packets = PacketLink(office: Office.url)
    @ObservationIgnored let tilt = Tilt()
    @ObservationIgnored private let shelf: Shelf
    @ObservationIgnored private var underWay: Task<Void, Never>?

    init() {
        // Words that cannot be read are a fault of the build, which its tests find.
        guard let shelf = try? Shelf.ofBundle(.main) else { fatalError("no words in the app") }
        self.shelf = shelf
        opening = .begin(shelf, Choice.looks)
    }

    /// The session, opened if it is not; nothing if it cannot be.
    func opened() async -> SessionModel? {
        if case .done(let model) = opening { return model }
        let task = underWay ?? Task { await open() }
        underWay = task
        await task.value
        underWay = nil
        if case .done(let model) = opening { return model }
        return nil
    }

    /// Lets go of the record and opens it anew, after a fault.
    func openAgain() async {
        opening = .begin(shelf, Choice.looks)
        _ = await opened()
    }

    private func open() async {
        let folder = URL.applicationSupportDirectory.appending(path: "session")
        opening = await Opening.open(
            folder: folder, secret: { try DeviceSecret.read() },
            platform: PhonePlatform(office: office, packets: packets, tray: tray), shelf: shelf,
            looks: Choice.looks)
        // In a backup the record would be of no use: another phone cannot open it.
        var kept = folder
        var values = URLResourceValues()
        values.isExcludedFromBackup = true
        try? kept.setResourceValues(values)
    }

    func goToBackground() {
        guard case .done(let model) = opening else { return }
        Choice.keep(model.looks)
        BackgroundSending.schedule(waiting: model.glass.outbox.waiting)
    }

    /// What waits for the office is tried again at once.
    func comeToTheFront() async {
        await opened()?.cameToFront()
    }

    /// Switches the radio on and hands on what it says, to whichever session is open then, for
    /// as long as the app runs. Early: state restoration needs the same call at each launch.
    func listen() {
        radio.start()
        battery.start()
        let events = radio.events
        Task {
            for await event in events {
                guard let model = await opened() else { continue }
                switch event {
                case .link(let link, let name, let reader):
                    await model.readerLink(link, name: name, reader: reader)
                case .bytes(let bytes): await model.readerBytes(bytes)
                case .seen(let reader, let name, let way, let signal):
                    await model.readerSeen(reader, name: name, way: way, signal: signal)
                case .battery(let reader, let percent):
                    await model.readerBattery(reader, percent: percent)
                }
            }
        }
    }

    /// What the session asks of the radio, once it is open.
    var asked: ReaderState? {
        if case .done(let model) = opening { model.glass.reader } else { nil }
    }

    /// Hands on the seconds until the task is cancelled.
    func feed(_ model: SessionModel) async {
        tilt.start()
        defer { tilt.stop() }
        while !Task.isCancelled {
            try? await Task.sleep(for: .seconds(1))
            await model.tick()
        }
    }

    /// A roster's file was opened with the app.
    func load(_ file: URL) async {
        let mayRead = file.startAccessingSecurityScopedResource()
        defer { if mayRead { file.stopAccessingSecurityScopedResource() } }
        guard let text = try? String(contentsOf: file, encoding: .utf8),
            let model = await opened()
        else { return }
        await model.loadRoster(text)
    }
}

/// The first view: it lives as long as the window.
struct RootView: View {
    let phone: PhoneInHand

    var body: some View {
        @Bindable var tray = phone.tray
        OpeningView(
            opening: phone.opening, tilt: { phone.tilt.reading() },
            again: { Task { await phone.openAgain() } }
        )
        .task(id: phone.opening.isDone) {
            guard let model = await phone.opened() else { return }
            await phone.feed(model)
        }
        .onChange(of: phone.asked, initial: true) { _, reader in
            if let reader { phone.radio.follow(reader) }
        }
        .background { if case .done(let model) = phone.opening { Keys(model: model) } }
        .onOpenURL { file in Task { await phone.load(file) } }
        .sheet(item: $tray.file) { ShareSheet(file: $0) }
    }
}

/// What the person chose, kept between runs.
private enum Choice {
    private static let key = "looks"

    static var looks: Looks {
        Looks(
            kept: UserDefaults.standard.string(forKey: key),
            preferred: Locale.preferredLanguages)
    }

    static func keep(_ looks: Looks) {
        UserDefaults.standard.set(looks.kept, forKey: key)
    }
}

/// Where the office answers: from the app's settings, so that no build names one.
private enum Office {
    static var url: URL? {
        UserDefaults.standard.string(forKey: "office").flatMap(URL.init(string:))
    }
}

/// The reader that types like a keyboard, listening behind the screens.
private struct Keys: UIViewRepresentable {
    let model: SessionModel

    func makeUIView(context: Context) -> KeyReader {
        KeyReader(
            out: { [model] bytes in Task { await model.readerBytes(bytes) } },
            press: { [model] up in Task { await model.pressed(up: up) } })
    }

    func updateUIView(_ keys: KeyReader, context: Context) {
        let reader = model.glass.reader
        keys.follow(reader, listensToKeys: model.listensToKeys)
        // Told once for each change: what is told draws the screen anew, which comes here again.
        let now = Told(wanted: reader.wanted?.way == .keys, look: reader.look)
        let before = context.coordinator.told
        context.coordinator.told = now
        Task { [model] in
            if now.look, !before.look {
                await model.readerSeen(KeyReader.id, name: "", way: .keys, signal: nil)
            }
            if now.wanted, !before.wanted {
                await model.readerLink(.connected, name: "", reader: KeyReader.id)
            }
        }
    }

    func makeCoordinator() -> Memory { Memory() }

    /// What the session was told for.
    struct Told {
        var wanted = false
        var look = false
    }

    @MainActor
    final class Memory {
        var told = Told()
    }
}

/// The share sheet.
private struct ShareSheet: UIViewControllerRepresentable {
    let file: URL

    func makeUIViewController(context: Context) -> UIActivityViewController {
        UIActivityViewController(activityItems: [file], applicationActivities: nil)
    }

    func updateUIViewController(_ controller: UIActivityViewController, context: Context) {}
}

extension URL: @retroactive Identifiable {
    public var id: String { absoluteString }
}
#endif
