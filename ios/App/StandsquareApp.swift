#if canImport(SwiftUI) && canImport(UIKit)
import StandsquareDevice
import StandsquareModel
import StandsquareViews
import SwiftUI

/// The app: opens the record, and feeds the session with the radio's bytes and the seconds.
@main
struct StandsquareApp: App {
    @State private var opening: Opening
    @State private var tray: ShareTray
    private let words: Words
    private let platform: PhonePlatform
    private let radio = ReaderRadio()
    private let tilt = Tilt()

    init() {
        // Words that cannot be read are a fault of the build, which its tests find.
        guard let words = try? Words.ofBundle(.main) else { fatalError("no words in the app") }
        self.words = words
        let tray = ShareTray()
        _tray = State(initialValue: tray)
        _opening = State(initialValue: .begin(words))
        platform = PhonePlatform(office: OfficeLink(office: Office.url), tray: tray)
    }

    var body: some Scene {
        WindowGroup {
            OpeningView(opening: opening, tilt: { tilt.reading() })
                .task { await run() }
                .sheet(item: $tray.file) { ShareSheet(file: $0) }
                .background { if case .done(let model) = opening { Keys(model: model) } }
                .onChange(of: asked) { _, reader in
                    if let reader { radio.follow(reader) }
                }
        }
    }

    /// What the session asks of the radio, once it is open.
    private var asked: ReaderState? {
        if case .done(let model) = opening { model.glass.reader } else { nil }
    }

    private func run() async {
        opening = await Opening.open(
            folder: URL.applicationSupportDirectory.appending(path: "session"),
            secret: { try DeviceSecret.read() }, platform: platform, words: words)
        guard case .done(let model) = opening else { return }
        radio.start()
        radio.follow(model.glass.reader)
        tilt.start()
        await withTaskGroup(of: Void.self) { group in
            group.addTask {
                for await event in radio.events {
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
            group.addTask {
                while !Task.isCancelled {
                    try? await Task.sleep(for: .seconds(1))
                    await model.tick()
                }
            }
        }
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
        KeyReader { [model] bytes in Task { await model.readerBytes(bytes) } }
    }

    func updateUIView(_ keys: KeyReader, context: Context) {
        let reader = model.glass.reader
        keys.follow(reader)
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
