import StandsquareDevice
import Testing

/// A code is told once for as long as it stays before the camera.
@Suite struct CodesHeardTests {
    @Test func aCodeThatStaysIsToldOnceAndOneThatComesBackAgain() {
        // However long it stays; then after a look away, another one, and the first one again.
        let stays = (0...50).map { ("one", 10 + Double($0) * 0.2) }
        let seen = stays + [("one", 20 + CodesHeard.stays), ("two", 21.6), ("one", 21.7)]
        var heard = CodesHeard()
        var told: [Double] = []
        for (text, at) in seen where heard.isNew(text, at: at) { told.append(at) }
        #expect(told == [10, 20 + CodesHeard.stays, 21.6, 21.7])
    }
}
