// Does the acts of a recorded session and prints the number of each once it is answered.
//
//   Rehearse RECORDING FOLDER FIRST
//
// FIRST is the step to begin with, counted from 0; the folder is opened as it is.
import Foundation
import StandsquareModel

let arguments = CommandLine.arguments
guard arguments.count == 4, let first = Int(arguments[3]) else {
    FileHandle.standardError.write(Data("usage: Rehearse RECORDING FOLDER FIRST\n".utf8))
    exit(2)
}
do {
    let replay = try Replay(text: String(contentsOfFile: arguments[1], encoding: .utf8))
    let phone = try replay.open(in: URL(fileURLWithPath: arguments[2], isDirectory: true))
    for step in first..<replay.recording.steps.count {
        _ = try replay.perform(step, on: phone)
        // Past the buffer: whoever reads this may kill the process at once.
        FileHandle.standardOutput.write(Data("\(step)\n".utf8))
    }
} catch {
    FileHandle.standardError.write(Data("\(error)\n".utf8))
    exit(1)
}
