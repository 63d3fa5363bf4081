#if canImport(AVFoundation) && canImport(UIKit)
import AVFoundation
import Foundation
import Observation
import StandsquareModel
import UIKit

/// The camera on the phone's back, while a code is to be read. What a code says, the core knows.
@MainActor
@Observable
public final class CodeCamera {
    /// How it stands.
    public private(set) var sight = Sight.starting
    /// Hears of each code as often as it is seen: which of them stayed, the core knows.
    @ObservationIgnored public var read: @MainActor (String) -> Void = { _ in }

    /// What the camera sees goes through this.
    @ObservationIgnored let session = AVCaptureSession()
    /// The camera itself, once it was found.
    @ObservationIgnored private(set) var device: AVCaptureDevice?
    @ObservationIgnored private var ears: Ears?
    @ObservationIgnored private var watching: [NSObjectProtocol] = []
    @ObservationIgnored private var isWanted = false
    /// Starting and stopping take their time: not on the main thread.
    @ObservationIgnored private let queue = DispatchQueue(label: "standsquare.codes")

    public init() {}

    /// Begins, if the person lets it; otherwise says so.
    public func start() async {
        guard !isWanted else { return }
        isWanted = true
        sight = .starting
        guard await AVCaptureDevice.requestAccess(for: .video) else {
            isWanted = false
            sight = .denied
            return
        }
        // The system's question may have taken long: it may be closed again.
        guard isWanted else { return }
        guard make() else {
            isWanted = false
            sight = .none
            return
        }
        watch()
        let running = Running(session: session)
        queue.async { running.session.startRunning() }
        sight = device?.hasTorch == true ? .seeingWithLight : .seeing
    }

    /// Lets the camera go.
    public func stop() {
        guard isWanted else { return }
        isWanted = false
        for one in watching { NotificationCenter.default.removeObserver(one) }
        watching = []
        let running = Running(session: session)
        queue.async { running.session.stopRunning() }
    }

    /// Turns its light on or off, where it has one.
    public func light(_ on: Bool) {
        guard let device, device.hasTorch, (try? device.lockForConfiguration()) != nil else {
            return
        }
        device.torchMode = on ? .on : .off
        device.unlockForConfiguration()
    }

    private func make() -> Bool {
        if device != nil { return true }
        guard
            let found = AVCaptureDevice.default(
                .builtInWideAngleCamera, for: .video, position: .back),
            let input = try? AVCaptureDeviceInput(device: found), session.canAddInput(input)
        else { return false }
        let output = AVCaptureMetadataOutput()
        guard session.canAddOutput(output) else { return false }
        session.beginConfiguration()
        session.addInput(input)
        session.addOutput(output)
        session.commitConfiguration()
        guard output.availableMetadataObjectTypes.contains(.qr) else { return false }
        let ears = Ears { [weak self] in self?.tell($0) }
        output.setMetadataObjectsDelegate(ears, queue: .main)
        output.metadataObjectTypes = [.qr]
        self.ears = ears
        device = found
        return true
    }

    /// Another app may take it, a call may come in, and it may fail.
    private func watch() {
        let changes: [(NSNotification.Name, Sight)] = [
            (AVCaptureSession.wasInterruptedNotification, .taken),
            (AVCaptureSession.runtimeErrorNotification, .taken),
            (
                AVCaptureSession.interruptionEndedNotification,
                device?.hasTorch == true ? .seeingWithLight : .seeing
            ),
        ]
        watching = changes.map { name, sight in
            NotificationCenter.default.addObserver(forName: name, object: session, queue: .main) {
                [weak self] _ in
                MainActor.assumeIsolated { self?.sight = sight }
            }
        }
    }

    private func tell(_ text: String) {
        if isWanted { read(text) }
    }
}

/// The system lets a session be started on any queue, and does not say so.
private struct Running: @unchecked Sendable {
    let session: AVCaptureSession
}

/// What the system calls with the codes it sees.
private final class Ears: NSObject, AVCaptureMetadataOutputObjectsDelegate {
    private let told: @MainActor (String) -> Void

    init(told: @escaping @MainActor (String) -> Void) {
        self.told = told
    }

    func metadataOutput(
        _ output: AVCaptureMetadataOutput, didOutput objects: [AVMetadataObject],
        from connection: AVCaptureConnection
    ) {
        let texts = objects.compactMap { ($0 as? AVMetadataMachineReadableCodeObject)?.stringValue }
        // Its queue is the main one.
        let told = told
        MainActor.assumeIsolated { for text in texts { told(text) } }
    }
}

/// What the camera sees, filling its part of the glass.
public final class CameraPicture: UIView {
    private var turning: AVCaptureDevice.RotationCoordinator?

    public override class var layerClass: AnyClass { AVCaptureVideoPreviewLayer.self }

    /// Shows what this camera sees.
    public func show(_ camera: CodeCamera) {
        guard let picture = layer as? AVCaptureVideoPreviewLayer else { return }
        if picture.session !== camera.session {
            picture.session = camera.session
            picture.videoGravity = .resizeAspectFill
        }
        if turning == nil, let device = camera.device {
            turning = AVCaptureDevice.RotationCoordinator(device: device, previewLayer: picture)
            setNeedsLayout()
        }
    }

    public override func layoutSubviews() {
        super.layoutSubviews()
        // However the phone is held, what is above is above in the picture.
        guard let turning, let connection = (layer as? AVCaptureVideoPreviewLayer)?.connection
        else { return }
        let angle = turning.videoRotationAngleForHorizonLevelPreview
        if connection.isVideoRotationAngleSupported(angle) { connection.videoRotationAngle = angle }
    }
}
#endif
