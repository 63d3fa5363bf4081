import Foundation
import StandsquareDevice
import StandsquareModel
import Testing

@Suite struct OfficeLinkTests {
    @Test func withoutAnOfficeNothingIsSent() async {
        let reply = await OfficeLink(office: nil).ask(path: "/v1/frames", body: Data([1]))
        #expect(reply == .unreachable(reason: "no office is set"))
    }

    @Test func anOfficeThatIsNotThereIsUnreachable() async throws {
        // Port 9 (discard, RFC 863): nothing listens there on a phone or a builder.
        let link = OfficeLink(office: try #require(URL(string: "http://127.0.0.1:9")))
        guard case .unreachable(let reason) = await link.ask(path: "/v1/frames", body: Data([1]))
        else {
            Issue.record("it answered")
            return
        }
        #expect(!reason.isEmpty)
    }
}
