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
        }
    }

    private func run() async {
        opening = await Opening.open(
            folder: URL.applicationSupportDirectory.appending(path: "session"),
            secret: { try DeviceSecret.read() }, platform: platform, words: words)
        guard case .done(let model) = opening else { return }
        radio.start()
        tilt.start()
        await withTaskGroup(of: Void.self) { group in
            group.addTask {
                for await event in radio.events {
                    switch event {
                    case .link(let link, let name): await model.readerLink(link, name: name)
                    case .bytes(let bytes): await model.readerBytes(bytes)
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
