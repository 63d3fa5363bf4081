// Declarations only, for tests on Linux: the part of CoreBluetooth that this app uses, as we read its
// documentation. Nothing here does anything, and nothing of it goes onto a phone.

@_exported import Foundation

public enum CBManagerState: Int, Sendable {
    case unknown, resetting, unsupported, unauthorized, poweredOff, poweredOn
}

open class CBUUID: NSObject, @unchecked Sendable {
    public init(string theString: String) { undone() }
    open var uuidString: String { undone() }
}

public struct CBCharacteristicProperties: OptionSet, Sendable {
    public let rawValue: UInt
    public init(rawValue: UInt) { self.rawValue = rawValue }
    public static let read = CBCharacteristicProperties(rawValue: 0x02)
    public static let writeWithoutResponse = CBCharacteristicProperties(rawValue: 0x04)
    public static let write = CBCharacteristicProperties(rawValue: 0x08)
    public static let notify = CBCharacteristicProperties(rawValue: 0x10)
    public static let indicate = CBCharacteristicProperties(rawValue: 0x20)
}

open class CBAttribute: NSObject {
    open var uuid: CBUUID { undone() }
}

open class CBService: CBAttribute {
    open var characteristics: [CBCharacteristic]? { undone() }
}

open class CBCharacteristic: CBAttribute {
    open var properties: CBCharacteristicProperties { undone() }
    open var value: Data? { undone() }
    open var isNotifying: Bool { undone() }
    open var service: CBService? { undone() }
}

public enum CBCharacteristicWriteType: Int, Sendable {
    case withResponse, withoutResponse
}

public enum CBPeripheralState: Int, Sendable {
    case disconnected, connecting, connected, disconnecting
}

open class CBPeer: NSObject {
    open var identifier: UUID { undone() }
}

open class CBPeripheral: CBPeer {
    open weak var delegate: (any CBPeripheralDelegate)?
    open var name: String? { undone() }
    open var state: CBPeripheralState { undone() }
    open var services: [CBService]? { undone() }
    open func discoverServices(_ serviceUUIDs: [CBUUID]?) { undone() }
    open func discoverCharacteristics(_ characteristicUUIDs: [CBUUID]?, for service: CBService) {
        undone()
    }
    open func setNotifyValue(_ enabled: Bool, for characteristic: CBCharacteristic) { undone() }
    open func readValue(for characteristic: CBCharacteristic) { undone() }
    open func writeValue(
        _ data: Data, for characteristic: CBCharacteristic, type: CBCharacteristicWriteType
    ) { undone() }
}

public protocol CBPeripheralDelegate: NSObjectProtocol {
    func peripheral(_ peripheral: CBPeripheral, didDiscoverServices error: (any Error)?)
    func peripheral(
        _ peripheral: CBPeripheral, didDiscoverCharacteristicsFor service: CBService,
        error: (any Error)?)
    func peripheral(
        _ peripheral: CBPeripheral, didUpdateValueFor characteristic: CBCharacteristic,
        error: (any Error)?)
    func peripheral(
        _ peripheral: CBPeripheral,
        didUpdateNotificationStateFor characteristic: CBCharacteristic, error: (any Error)?)
    func peripheral(_ peripheral: CBPeripheral, didModifyServices invalidatedServices: [CBService])
}

// Optional on Apple's systems: a method that is misspelt is simply never called there. Here it
// would be noticed only as one that overrides nothing, so the names stand in both places.
extension CBPeripheralDelegate {
    public func peripheral(_ peripheral: CBPeripheral, didDiscoverServices error: (any Error)?) {}
    public func peripheral(
        _ peripheral: CBPeripheral, didDiscoverCharacteristicsFor service: CBService,
        error: (any Error)?
    ) {}
    public func peripheral(
        _ peripheral: CBPeripheral, didUpdateValueFor characteristic: CBCharacteristic,
        error: (any Error)?
    ) {}
    public func peripheral(
        _ peripheral: CBPeripheral,
        didUpdateNotificationStateFor characteristic: CBCharacteristic, error: (any Error)?
    ) {}
    public func peripheral(
        _ peripheral: CBPeripheral, didModifyServices invalidatedServices: [CBService]
    ) {}
}

open class CBManager: NSObject {
    open var state: CBManagerState { undone() }
}

open class CBCentralManager: CBManager {
    open weak var delegate: (any CBCentralManagerDelegate)?
    open var isScanning: Bool { undone() }
    public init(
        delegate: (any CBCentralManagerDelegate)?, queue: DispatchQueue?,
        options: [String: Any]? = nil
    ) { undone() }
    open func scanForPeripherals(
        withServices serviceUUIDs: [CBUUID]?, options: [String: Any]? = nil
    ) { undone() }
    open func stopScan() { undone() }
    open func connect(_ peripheral: CBPeripheral, options: [String: Any]? = nil) { undone() }
    open func cancelPeripheralConnection(_ peripheral: CBPeripheral) { undone() }
    open func retrievePeripherals(withIdentifiers identifiers: [UUID]) -> [CBPeripheral] { undone() }
    open func retrieveConnectedPeripherals(withServices serviceUUIDs: [CBUUID]) -> [CBPeripheral] {
        undone()
    }
}

public protocol CBCentralManagerDelegate: NSObjectProtocol {
    func centralManagerDidUpdateState(_ central: CBCentralManager)
    func centralManager(_ central: CBCentralManager, willRestoreState dict: [String: Any])
    func centralManager(
        _ central: CBCentralManager, didDiscover peripheral: CBPeripheral,
        advertisementData: [String: Any], rssi RSSI: NSNumber)
    func centralManager(_ central: CBCentralManager, didConnect peripheral: CBPeripheral)
    func centralManager(
        _ central: CBCentralManager, didFailToConnect peripheral: CBPeripheral,
        error: (any Error)?)
    func centralManager(
        _ central: CBCentralManager, didDisconnectPeripheral peripheral: CBPeripheral,
        error: (any Error)?)
}

extension CBCentralManagerDelegate {
    public func centralManager(
        _ central: CBCentralManager, willRestoreState dict: [String: Any]
    ) {}
    public func centralManager(
        _ central: CBCentralManager, didDiscover peripheral: CBPeripheral,
        advertisementData: [String: Any], rssi RSSI: NSNumber
    ) {}
    public func centralManager(_ central: CBCentralManager, didConnect peripheral: CBPeripheral) {}
    public func centralManager(
        _ central: CBCentralManager, didFailToConnect peripheral: CBPeripheral,
        error: (any Error)?
    ) {}
    public func centralManager(
        _ central: CBCentralManager, didDisconnectPeripheral peripheral: CBPeripheral,
        error: (any Error)?
    ) {}
}

public let CBCentralManagerOptionRestoreIdentifierKey = "kCBInitOptionRestoreIdentifier"
public let CBCentralManagerOptionShowPowerAlertKey = "kCBInitOptionShowPowerAlert"
public let CBCentralManagerScanOptionAllowDuplicatesKey = "kCBScanOptionAllowDuplicates"
public let CBCentralManagerRestoredStatePeripheralsKey = "kCBRestoredPeripherals"
public let CBAdvertisementDataLocalNameKey = "kCBAdvDataLocalName"
public let CBAdvertisementDataServiceUUIDsKey = "kCBAdvDataServiceUUIDs"

private func undone() -> Never { fatalError("declarations only") }
