import Foundation
import StandsquareCore
import Testing

@testable import StandsquareModel

/// The person's choice of language and look.
@MainActor
@Suite struct LooksTests {
    @Test(arguments: [
        (["de-AT", "en"], Language.german), (["nl-BE", "fr_BE", "de"], .french),
        (["FR"], .french), (["nl"], .english), ([], .english), ([""], .english),
    ] as [([String], Language)])
    func thePhonesFirstLanguageWithWordsIsTaken(preferred: [String], language: Language) {
        #expect(Language.first(of: preferred) == language)
    }

    @Test(arguments: Language.allCases)
    func whatWasChosenIsKept(language: Language) {
        for look in Look.allCases {
            let looks = Looks(language: language, look: look)
            #expect(Looks(kept: looks.kept, preferred: ["nl"]) == looks)
        }
    }

    @Test(arguments: [nil, "", "xx", "xx dark", "dark"] as [String?])
    func whatCannotBeReadIsThePhonesOwn(kept: String?) {
        #expect(Looks(kept: kept, preferred: ["fr"]).language == .french)
    }

    @Test func everyLanguageIsNamedInItself() async throws {
        let table = try await Table()
        let state = table.model.looksState
        #expect(state.languages.map(\.name) == ["English", "Deutsch", "Français"])
        #expect(state.languages.map(\.chosen) == [true, false, false])
        #expect(state.heading == "Language")
    }

    @Test func everythingIsSaidInTheLanguageChosen() async throws {
        let table = try await Table()
        let words = try Places.shelf()
        for language in Language.allCases {
            table.model.choose(language)
            #expect(table.glass.title == words.words(language)("title.home"))
            #expect(table.model.looksState.heading == words.words(language)("ui.language"))
            #expect(table.model.looks.language == language)
        }
    }

    @Test func theLanguageStaysFromActToAct() async throws {
        let table = try await Table(looks: Looks(language: .german))
        try await table.setUp()
        try await table.toTheSignatures()
        #expect(table.glass.title == "Einig? Unterschrift")
        guard case .sign(let sign) = table.glass.screen else { throw Stray(table.glass) }
        #expect(sign.height == "Höhe ≤ 35 cm")
        #expect(table.glass.mark == "Demo, nicht amtlich")
    }

    @Test func theHandlerIsToldInFrenchWithFrenchDates() async throws {
        let table = try await Table(looks: Looks(language: .french))
        try await table.setUp()
        try await table.toTheSignatures()
        for (person, pin) in Table.pins { try await table.sign(person, pin) }
        try await table.press("book_written")
        guard case .tell(let tell) = table.glass.screen else { throw Stray(table.glass) }
        #expect(
            tell.lines.contains(
                "La deuxième mesure est à faire du 25 novembre 2027 au 25 novembre 2028."))
    }

    /// The words are for people; what is recorded is the same whatever the language.
    @Test func theRecordKnowsNoLanguage() async throws {
        var files: [String] = []
        for language in Language.allCases {
            let table = try await Table(looks: Looks(language: language))
            try await table.wholeDay()
            files.append(try await table.gateway.sessionJson())
        }
        #expect(Set(files).count == 1)
        #expect(!files[0].isEmpty)
    }

    @Test func theLookChangesAndNothingElse() async throws {
        let table = try await Table()
        let before = table.glass
        #expect(table.model.looksState.changeLook == table.words("ui.look.to_dark"))
        table.model.changeLook()
        #expect(table.model.looks.look == .dark)
        #expect(table.model.looksState.changeLook == table.words("ui.look.to_sun"))
        #expect(table.glass == before)
        table.model.changeLook()
        #expect(table.model.looks == Looks())
    }

    @Test func aShelfWithoutALanguageSaysWhich() throws {
        let folder = try Folder()
        let file = Places.checkout.appending(path: "bindings/words/en.json")
        try FileManager.default.copyItem(
            at: file, to: folder.url.appending(path: "en.json"))
        #expect(throws: Words.Fault.lacking(key: "words/de.json")) { try Shelf(folder: folder.url) }
    }

    @Test(arguments: Language.allCases)
    func theFilesOnDiskAreTheLanguagesOffered(language: Language) throws {
        #expect(Set(Places.languages) == Set(Language.allCases.map(\.rawValue)))
        #expect(try Places.shelf().words(language).language == language.rawValue)
    }

    @Test(arguments: [
        (Language.english, "34.6", "9 March 2027"), (.german, "34,6", "9. März 2027"),
        (.french, "34,6", "9 mars 2027"),
    ] as [(Language, String, String)])
    func numbersAndDaysAreWrittenAsTheLanguageDoes(
        language: Language, length: String, day: String
    ) throws {
        let words = try Places.shelf().words(language)
        #expect(words.centimetres(um: 346_000) == length)
        #expect(words.day("2027-03-09") == day)
    }
}

/// Contrast as WCAG 2.2 defines it: (lighter + 0.05) / (darker + 0.05) of relative luminances.
@Suite struct PaletteTests {
    private func luminance(_ rgb: UInt32) -> Double {
        func part(_ shift: UInt32) -> Double {
            let c = Double((rgb >> shift) & 0xFF) / 255
            return c <= 0.04045 ? c / 12.92 : pow((c + 0.055) / 1.055, 2.4)
        }
        return 0.2126 * part(16) + 0.7152 * part(8) + 0.0722 * part(0)
    }

    private func contrast(_ a: UInt32, _ b: UInt32) -> Double {
        let (x, y) = (luminance(a), luminance(b))
        return (max(x, y) + 0.05) / (min(x, y) + 0.05)
    }

    @Test func theSumIsTheStandards() {
        #expect(abs(contrast(0x000000, 0xFFFFFF) - 21) < 0.01)
        // WCAG 2.2, understanding 1.4.3, names #767676 on white as just above 4.5:1.
        #expect(abs(contrast(0x767676, 0xFFFFFF) - 4.54) < 0.01)
    }

    @Test(arguments: Look.allCases)
    func everyWordHasSevenToOne(look: Look) {
        let p = look.palette
        let pairs = Mood.allCases.map(p.pair) + Weight.allCases.map(p.pair) + [
            p.page, p.card, p.demo, Palette.Pair(p.page.ground, p.soft),
            Palette.Pair(p.card.ground, p.soft),
        ]
        for pair in pairs { #expect(contrast(pair.ground, pair.ink) >= 7, "\(pair)") }
    }

    @Test(arguments: Look.allCases)
    func everyEdgeAndDrawingHasThreeToOne(look: Look) {
        let p = look.palette
        for colour in [p.line, p.hoop, p.dog] {
            #expect(contrast(colour, p.page.ground) >= 3)
            #expect(contrast(colour, p.card.ground) >= 3)
        }
    }
}
