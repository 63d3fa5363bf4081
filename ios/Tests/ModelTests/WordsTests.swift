import Foundation
import StandsquareCore
import Testing

@testable import StandsquareModel

@Suite struct WordsTests {
    private func words(_ more: [String: String], plural: String = "one-is-1") throws -> Words {
        let frame = [
            "format.language": "Test", "format.day": "d MMMM yyyy", "format.decimal": ",",
            "format.plural": plural,
        ]
        return try Words(
            json: JSONEncoder().encode(frame.merging(more) { $1 }), language: "en")
    }

    private func text(_ key: String, _ args: KeyValuePairs<String, ArgValue>) -> Text {
        Text(key: key, args: args.map { Arg(name: $0.key, value: $0.value) })
    }

    @Test func valuesAreFilledIn() throws {
        let words = try words([
            "a": "{dog}: {over} to {within} cm, on {day}, {n} of it ({why})", "b": "because",
        ])
        let said = words(
            text(
                "a",
                [
                    "dog": .plain(text: "Pip"), "over": .length(um: 350_000),
                    "within": .length(um: 430_500), "day": .day(iso: "2027-03-09"),
                    "n": .count(n: 12_000), "why": .word(key: "b"), "unused": .count(n: 1),
                ]))
        #expect(said == "Pip: 35 to 43,05 cm, on 9 March 2027, 12000 of it (because)")
    }

    @Test(arguments: [
        (0, "0 dogs"), (1, "one dog"), (2, "2 dogs"), (-1, "-1 dogs"),
    ] as [(Int64, String)])
    func pluralsGoByTheNamedArgument(n: Int64, expected: String) throws {
        let words = try words([
            "x.count": "dogs", "x.one": "one dog", "x.other": "{dogs} dogs",
        ])
        #expect(words(text("x", ["count": .count(n: 1), "dogs": .count(n: n)])) == expected)
    }

    @Test func frenchCountsNoneAsOne() throws {
        let words = try words(
            ["x.count": "n", "x.one": "{n} chien", "x.other": "{n} chiens"],
            plural: "one-is-0-and-1")
        #expect([0, 1, 2].map { words(text("x", ["n": .count(n: $0)])) }
            == ["0 chien", "1 chien", "2 chiens"])
    }

    @Test(arguments: [
        (0, "0"), (10_000, "1"), (350_000, "35"), (351_000, "35,1"), (350_001, "35,0001"),
        (-5_000, "-0,5"),
    ] as [(Int64, String)])
    func lengthsAreCentimetresWithTheDecimalsTheyNeed(um: Int64, expected: String) throws {
        #expect(try words([:]).centimetres(um: um) == expected)
    }

    @Test(arguments: [
        (0, "0"), (1_240, "1,2"), (1_250, "1,3"), (-60, "-0,1"), (-2_000, "-2"),
    ] as [(Int32, String)])
    func anglesAreDegreesToATenth(mdeg: Int32, expected: String) throws {
        #expect(try words([:]).degrees(mdeg: mdeg) == expected)
    }

    @Test(arguments: ["", "soon", "2027-13-01", "2027-02-30", "2027-3-9", "09.03.2027"])
    func whatIsNoDayIsShownAsItCame(iso: String) throws {
        #expect(try words([:]).day(iso) == iso)
    }

    @Test func aMissingKeyShowsItself() throws {
        #expect(try words([:])("tell.nothing") == "[tell.nothing]")
    }

    @Test func aMissingValueShowsItsName() throws {
        #expect(try words(["a": "{dog} is {"])("a") == "{dog} is {")
    }

    @Test(arguments: ["", "[]", #"{"a": 1}"#, #"{"a": {"one": "x"}}"#])
    func whatIsNotFlatJsonIsUnreadable(json: String) {
        do {
            _ = try Words(json: Data(json.utf8), language: "en")
            Issue.record("it was read")
        } catch Words.Fault.unreadable(let reason) {
            #expect(!reason.isEmpty)
        } catch {
            Issue.record("another fault: \(error)")
        }
    }

    @Test func aFileWithoutItsFrameSaysWhatIsLacking() {
        #expect(throws: Words.Fault.lacking(key: "format.language")) {
            try Words(json: Data("{}".utf8), language: "en")
        }
        #expect(throws: Words.Fault.unknownPlural(rule: "dual")) {
            try words([:], plural: "dual")
        }
    }

    @Test(arguments: Places.languages)
    func theWordsOnFileAreReadable(language: String) throws {
        let words = try Places.words(language)
        #expect(words.language == language)
        #expect(!words("demo.mark").hasPrefix("["))
    }
}
