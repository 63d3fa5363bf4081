import Foundation
import StandsquareCore
import Testing

@testable import StandsquareModel

/// What is looked at beside the session, through the model, over the real core.
@MainActor
@Suite struct LookingTests {
    private func toTheSlip(_ looks: Looks = Looks()) async throws -> Table {
        let table = try await Table(looks: looks)
        try await table.setUp()
        try await table.toTheSignatures()
        for (person, pin) in Table.pins { try await table.sign(person, pin) }
        try await table.press("book_written")
        try await table.press("slip")
        return table
    }

    @Test func theSlipIsShownPrintedAndPutIntoTheCalendarInThePersonsLanguage() async throws {
        let table = try await toTheSlip(Looks(language: .german))
        guard case .slip(let slip) = table.glass.screen else { throw Stray(table.glass) }
        #expect(slip.code.modules.count == slip.code.side * slip.code.side)
        #expect(slip.code.side <= 77)
        #expect(slip.line.count >= 6)
        try await table.press("calendar_entry")
        let entry = try #require(await table.platform.shared.last)
        #expect(entry.name.hasSuffix(".ics"))
        let text = String(decoding: entry.content, as: UTF8.self)
        #expect(text.contains("SUMMARY:Pip: zweite Messung"))
        try await table.press("print_slip")
        let sheet = try #require(await table.platform.printed.last)
        let laid = LaidSheet(sheet) { text, size, _ in Double(text.count) * size * 0.5 }
        #expect(laid.pages.count == 1)
        var said: Set<String> = []
        for case .line(let x, let y, let size, _, let text) in laid.pages[0] {
            #expect(x + Double(text.count) * size * 0.5 <= laid.width)
            #expect(y <= laid.height)
            said.formUnion(text.split(separator: " ").map(String.init))
        }
        for pair in sheet.blocks[0].pairs {
            for word in pair.value.split(separator: " ") { #expect(said.contains(String(word))) }
        }
        try await table.press("leave_look")
        guard case .tell = table.glass.screen else { throw Stray(table.glass) }
    }

    @Test func aTextThatIsNoSlipIsSaidToBeNone() async throws {
        let table = try await Table()
        try await table.press("open_slip_check")
        guard case .slipCheck(let check) = table.glass.screen else { throw Stray(table.glass) }
        #expect(check.answer == nil && check.instruction != nil)
        await table.model.send(check.entry.tap(text: "https://hollin.example"))
        guard case .slipCheck(let after) = table.glass.screen else { throw Stray(table.glass) }
        #expect(after.answer?.mood == .bad)
        #expect(after.says.isEmpty)
    }

    /// What a camera sees goes the same way as a text that is typed, and with an answer the
    /// reading is over.
    @Test func whatTheCameraReadsIsChecked() async throws {
        let table = try await Table()
        #expect(table.glass.camera == nil)
        try await table.press("open_slip_check")
        let camera = try #require(table.glass.camera)
        #expect(camera.isReading && camera.again == nil)
        await table.model.send(camera.tap(text: "https://hollin.example"))
        let after = try #require(table.glass.camera)
        #expect(!after.isReading)
        await table.model.send(try #require(after.again))
        guard case .slipCheck(let check) = table.glass.screen else { throw Stray(table.glass) }
        #expect(check.answer == nil && check.camera.isReading)
    }

    /// Parts of something longer, as another phone showed them: it is said how many are there, and
    /// it goes on. One that was taken changes nothing, and makes no sound.
    @Test func partsAreReadOneAfterAnother() async throws {
        let recorded = try Places.replay("copies").recording.steps.compactMap { step in
            if case .checkSlip(let text) = step.act, text.hasPrefix("SSC1:") { text } else { nil }
        }
        let (one, two) = (try #require(recorded.first), try #require(recorded.dropFirst().first))
        let table = try await Table()
        try await table.press("open_slip_check")
        func hold(_ text: String) async throws {
            await table.model.send(try #require(table.glass.camera).tap(text: text))
            #expect(table.glass.camera?.isReading == true)
            #expect(table.glass.notice?.mood == .care)
        }
        try await hold(one)
        let first = table.glass.notice
        try await hold(two)
        let both = table.glass.notice
        #expect(first != both)
        let heard = await table.platform.signals.count
        try await hold(one)
        #expect(table.glass.notice == both)
        #expect(await table.platform.signals.count == heard)
    }

    @Test func whatTheCameraCannotDoIsSaidInEveryLanguage() async throws {
        for language in Language.allCases {
            let table = try await Table(looks: Looks(language: language))
            try await table.press("open_slip_check")
            let camera = try #require(table.glass.camera)
            for sight in Sight.allCases {
                let trouble = camera.trouble(sight)?.text ?? ""
                #expect(trouble.isEmpty != camera.hint(sight).isEmpty)
            }
            #expect(Set([Sight.denied, .none, .taken].map { camera.trouble($0)?.text }).count == 3)
        }
    }

    @Test func aBiteIsRecordedWithTheWordsTyped() async throws {
        let table = try await Table()
        try await table.setUp()
        try await table.press("incident")
        guard case .incident(let incident) = table.glass.screen else { throw Stray(table.glass) }
        let first = try #require(incident.choices.first)
        await table.model.send(first.tap(words: "on the hand"))
        guard case .queue = table.glass.screen else { throw Stray(table.glass) }
        #expect(table.glass.notice?.mood == .care)
    }

    @Test func theSettingsAreKeptAndNothingIsPlayedThatIsNotWanted() async throws {
        var looks = Looks()
        for change: LooksChange in [.byPhone, .sounds(false), .buzzes(false)] { looks.take(change) }
        #expect(Looks(kept: looks.kept, preferred: []) == looks)
        looks.take(.look(.dark))
        #expect(!looks.byPhone && Looks(kept: looks.kept, preferred: []) == looks)
        let table = try await Table()
        try await table.press("open_settings")
        guard case .settings(let page) = table.glass.screen else { throw Stray(table.glass) }
        #expect(page.sections.first?.lines.isEmpty == false)
        table.model.change(.sounds(false))
        #expect(table.model.looksState.told.first?.chosen == false)
    }

    @Test func aLongSheetGoesOverSeveralPagesAndKeepsItsBlocksTogether() async throws {
        let table = try await toTheSlip()
        try await table.press("print_slip")
        let sheet = try #require(await table.platform.printed.last)
        let long = SheetState(sheet, repeated: 12)
        let laid = LaidSheet(long) { text, size, _ in Double(text.count) * size * 0.5 }
        #expect(laid.pages.count == 12)
        for page in laid.pages {
            let codes = page.filter { if case .code = $0 { true } else { false } }
            #expect(codes.count == 1)
        }
    }
}

extension SheetState {
    /// The same with its blocks this often.
    init(_ sheet: SheetState, repeated: Int) {
        self = sheet
        blocks = (0..<repeated).flatMap { _ in sheet.blocks }
    }
}
