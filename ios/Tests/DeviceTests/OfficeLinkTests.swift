import Foundation
import StandsquareModel
import Testing

#if canImport(FoundationNetworking)
    import FoundationNetworking
#endif

@testable import StandsquareDevice

@Suite struct OfficeLinkTests {
    @Test func withoutAnOfficeNothingIsSent() async {
        let reply = await OfficeLink(office: nil).ask(address: "", path: "/v1/frames", body: Data([1]))
        #expect(reply == .unreachable(reason: "no office is set"))
    }

    @Test func anOfficeThatIsNotThereIsUnreachable() async throws {
        // Port 9 (discard, RFC 863): nothing listens there on a phone or a builder.
        let link = OfficeLink(office: try #require(URL(string: "http://127.0.0.1:9")))
        guard case .unreachable(let reason) = await link.ask(address: "", path: "/v1/frames", body: Data([1]))
        else {
            Issue.record("it answered")
            return
        }
        #expect(!reason.isEmpty)
    }

    @Test func anAnswerIsHandedOnWithItsStatus() throws {
        let url = try #require(URL(string: "http://office.invalid/v1/frames"))
        let http = HTTPURLResponse(url: url, statusCode: 503, httpVersion: nil, headerFields: nil)
        #expect(
            OfficeLink.reply(Data([7]), http, nil) == .answered(status: 503, body: Data([7])))
    }

    @Test func whatIsNoAnswerIsUnreachable() {
        #expect(
            OfficeLink.reply(Data([7]), nil, nil) == .unreachable(reason: "not an HTTP answer"))
        struct Cut: Error {}
        guard case .unreachable = OfficeLink.reply(Data([7]), nil, Cut()) else {
            Issue.record("half an answer was taken for one")
            return
        }
    }

    @Test func aRequestIsAPostOfOurType() throws {
        let office = try #require(URL(string: "https://office.invalid/base"))
        let request = OfficeLink.request(office: office, path: "/v1/frames")
        #expect(request.url?.absoluteString == "https://office.invalid/base/v1/frames")
        #expect(request.httpMethod == "POST")
        #expect(request.value(forHTTPHeaderField: "Content-Type") == "application/cbor")
    }
}
