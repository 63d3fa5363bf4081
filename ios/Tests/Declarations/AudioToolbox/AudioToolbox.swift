// Declarations only, for tests on Linux: the part of AudioToolbox that this app uses, as we read its
// documentation. Nothing here does anything, and nothing of it goes onto a phone.

public typealias SystemSoundID = UInt32

public func AudioServicesPlaySystemSound(_ inSystemSoundID: SystemSoundID) { undone() }

private func undone() -> Never { fatalError("declarations only") }
