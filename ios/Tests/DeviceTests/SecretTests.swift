import Foundation
import StandsquareDevice
import Testing

/// The phone's secret: made once, sealed where the phone can, never made anew.
@Suite struct SecretTests {
    private let secret = Data((0..<32).map { UInt8($0) })

    /// A Keychain, played.
    private final class PlayedVault: Vault, @unchecked Sendable {
        struct Locked: Error {}
        var item: Data?
        var locked = false
        var spoils = false
        var kept = 0

        init(_ item: Data? = nil) { self.item = item }

        func find() throws -> Data? {
            if locked { throw Locked() }
            return item
        }

        func keep(_ item: Data) throws {
            if locked { throw Locked() }
            kept += 1
            self.item = spoils ? item.dropLast() : item
        }
    }

    /// A Secure Enclave, played: it turns the bits round. Absent, it seals nothing.
    private struct PlayedEnclave: Enclave {
        struct Gone: Error {}
        var there = true
        var opens = true

        func seal(_ plain: Data) throws -> Data? {
            there ? Data(plain.map { ~$0 }) : nil
        }

        func open(_ sealed: Data) throws -> Data {
            guard opens else { throw Gone() }
            return Data(sealed.map { ~$0 })
        }
    }

    private func never(_ count: Int) -> Data {
        Issue.record("a secret was made")
        return Data(count: count)
    }

    @Test func itIsMadeOnceAndComesBack() throws {
        let vault = PlayedVault()
        let first = try DeviceSecret.read(
            vault: vault, enclave: PlayedEnclave(), fresh: { _ in self.secret })
        #expect(first == secret)
        let again = try DeviceSecret.read(vault: vault, enclave: PlayedEnclave(), fresh: never)
        #expect(again == secret)
        #expect(vault.kept == 1)
    }

    @Test func whatIsKeptIsSealedWhereThePhoneCan() throws {
        let vault = PlayedVault()
        _ = try DeviceSecret.read(
            vault: vault, enclave: PlayedEnclave(), fresh: { _ in self.secret })
        #expect(vault.item?.range(of: secret) == nil)
    }

    @Test func aPhoneWithoutASecurePartKeepsItInTheKeychainAlone() throws {
        let vault = PlayedVault()
        let enclave = PlayedEnclave(there: false)
        _ = try DeviceSecret.read(vault: vault, enclave: enclave, fresh: { _ in self.secret })
        #expect(try DeviceSecret.read(vault: vault, enclave: enclave, fresh: never) == secret)
    }

    @Test func aLockedKeychainMakesNone() {
        let vault = PlayedVault()
        vault.locked = true
        #expect(throws: PlayedVault.Locked.self) {
            try DeviceSecret.read(vault: vault, enclave: PlayedEnclave(), fresh: never)
        }
    }

    @Test func aKeyThatIsGoneMakesNone() throws {
        let vault = PlayedVault()
        _ = try DeviceSecret.read(
            vault: vault, enclave: PlayedEnclave(), fresh: { _ in self.secret })
        #expect(throws: PlayedEnclave.Gone.self) {
            try DeviceSecret.read(
                vault: vault, enclave: PlayedEnclave(opens: false), fresh: never)
        }
    }

    @Test(arguments: [Data(), Data([1]), Data([9]) + Data(count: 32), Data([2]) + Data(count: 31)])
    func whatIsNotOursMakesNone(item: Data) {
        #expect(throws: DeviceSecret.Fault.unreadable) {
            try DeviceSecret.read(
                vault: PlayedVault(item), enclave: PlayedEnclave(), fresh: never)
        }
    }

    @Test func aSecretThatDoesNotComeBackIsNotUsed() {
        let vault = PlayedVault()
        vault.spoils = true
        #expect(throws: DeviceSecret.Fault.self) {
            try DeviceSecret.read(
                vault: vault, enclave: PlayedEnclave(), fresh: { _ in self.secret })
        }
    }

    @Test func twoPhonesHaveTwoSecrets() throws {
        let one = try DeviceSecret.read(vault: PlayedVault(), enclave: PlayedEnclave())
        let other = try DeviceSecret.read(vault: PlayedVault(), enclave: PlayedEnclave())
        #expect(one.count == DeviceSecret.length)
        #expect(one != other)
    }
}

/// The phone as a level: the same sums as Android's, from the other sign of gravity.
@Suite struct LevelTests {
    @Test func flatOnItsBackIsLevel() {
        let (x, y) = Level.mdeg(gravityX: 0, y: 0, z: -1)
        #expect(x == 0 && y == 0)
    }

    @Test func aDegreeAboutEitherSideIsAThousand() {
        let (s, c) = (sin(Double.pi / 180), cos(Double.pi / 180))
        // Android's sensor would show (0, s, c) and (-s, 0, c): see TiltSensorTest.
        #expect(Level.mdeg(gravityX: 0, y: -s, z: -c) == (1000, 0))
        #expect(Level.mdeg(gravityX: s, y: 0, z: -c) == (0, -1000))
    }

    @Test func turnedHalfRoundTheTiltChangesItsSign() {
        let here = Level.mdeg(gravityX: 0.02, y: -0.01, z: -1)
        let there = Level.mdeg(gravityX: -0.02, y: 0.01, z: -1)
        #expect(here.xMdeg == -there.xMdeg)
        #expect(here.yMdeg == -there.yMdeg)
    }

    @Test func onItsEdgeItIsUpright() {
        #expect(Level.mdeg(gravityX: 0, y: -1, z: 0) == (90_000, 0))
    }
}
