// Declarations only, for tests on Linux: the part of AVFoundation that this app uses, as we read
// its documentation. Nothing here does anything, and nothing of it goes onto a phone.

@_exported import Dispatch
@_exported import Foundation
import UIKit

public struct AVMediaType: Hashable, Sendable {
    public static let video = AVMediaType()
}

open class AVCaptureDevice: NSObject {
    public struct DeviceType: Hashable, Sendable {
        public static let builtInWideAngleCamera = DeviceType()
    }
    public enum Position: Int, Sendable { case unspecified, back, front }
    public enum TorchMode: Int, Sendable { case off, on, auto }

    public class func requestAccess(for mediaType: AVMediaType) async -> Bool { undone() }
    public class func `default`(
        _ deviceType: DeviceType, for mediaType: AVMediaType?, position: Position
    ) -> AVCaptureDevice? { undone() }
    open var hasTorch: Bool { undone() }
    open var torchMode: TorchMode {
        get { undone() }
        set {}
    }
    open func lockForConfiguration() throws { undone() }
    open func unlockForConfiguration() { undone() }

    open class RotationCoordinator: NSObject {
        public init(device: AVCaptureDevice, previewLayer: CALayer?) { undone() }
        open var videoRotationAngleForHorizonLevelPreview: CGFloat { undone() }
    }
}

open class AVCaptureInput: NSObject {}

open class AVCaptureDeviceInput: AVCaptureInput {
    public init(device: AVCaptureDevice) throws { undone() }
}

open class AVCaptureOutput: NSObject {}

open class AVCaptureConnection: NSObject {
    open var videoRotationAngle: CGFloat {
        get { undone() }
        set {}
    }
    open func isVideoRotationAngleSupported(_ videoRotationAngle: CGFloat) -> Bool { undone() }
}

open class AVMetadataObject: NSObject {
    public struct ObjectType: Hashable, Sendable {
        public static let qr = ObjectType()
    }
}

open class AVMetadataMachineReadableCodeObject: AVMetadataObject {
    open var stringValue: String? { undone() }
}

public protocol AVCaptureMetadataOutputObjectsDelegate: NSObjectProtocol {
    func metadataOutput(
        _ output: AVCaptureMetadataOutput, didOutput metadataObjects: [AVMetadataObject],
        from connection: AVCaptureConnection)
}

open class AVCaptureMetadataOutput: AVCaptureOutput {
    public override init() { undone() }
    open func setMetadataObjectsDelegate(
        _ objectsDelegate: (any AVCaptureMetadataOutputObjectsDelegate)?, queue: DispatchQueue?
    ) { undone() }
    open var availableMetadataObjectTypes: [AVMetadataObject.ObjectType] { undone() }
    open var metadataObjectTypes: [AVMetadataObject.ObjectType]! {
        get { undone() }
        set {}
    }
}

open class AVCaptureSession: NSObject {
    public class var wasInterruptedNotification: NSNotification.Name { undone() }
    public class var interruptionEndedNotification: NSNotification.Name { undone() }
    public class var runtimeErrorNotification: NSNotification.Name { undone() }
    public override init() { undone() }
    open func canAddInput(_ input: AVCaptureInput) -> Bool { undone() }
    open func addInput(_ input: AVCaptureInput) { undone() }
    open func canAddOutput(_ output: AVCaptureOutput) -> Bool { undone() }
    open func addOutput(_ output: AVCaptureOutput) { undone() }
    open func beginConfiguration() { undone() }
    open func commitConfiguration() { undone() }
    open func startRunning() { undone() }
    open func stopRunning() { undone() }
}

public struct AVLayerVideoGravity: Hashable, Sendable {
    public static let resizeAspectFill = AVLayerVideoGravity()
}

open class AVCaptureVideoPreviewLayer: CALayer {
    open var session: AVCaptureSession? {
        get { undone() }
        set {}
    }
    open var videoGravity: AVLayerVideoGravity {
        get { undone() }
        set {}
    }
    open var connection: AVCaptureConnection? { undone() }
}

private func undone() -> Never { fatalError("declarations only") }
