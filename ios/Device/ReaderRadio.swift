#if canImport(CoreBluetooth)
import CoreBluetooth
import StandsquareModel

/// What the radio has to say.
public enum ReaderEvent: Sendable {
    case link(LinkState, name: String)
    case bytes(Data)
}

/// The chip reader over Bluetooth Low Energy: bytes on, as the radio cut them.
///
/// It keeps the reader that was used last and waits for it as long as it takes: a connection
/// asked of CoreBluetooth has no time limit. The system may end the app while it waits and start
/// it again when the reader is there (state restoration). What the bytes mean is for the core.
///
/// `@unchecked Sendable`: every stored property is touched on `queue` only, on which
/// CoreBluetooth calls the delegate too.
public final class ReaderRadio: NSObject, @unchecked Sendable {
    /// Services by which a reader is found. The serial-port-like one that most small readers
    /// have; its two characteristics are told apart by their properties, because the
    /// published pages disagree on which of them notifies.
    public static let services = [CBUUID(string: "6E400001-B5A3-F393-E0A9-E50E24DCCA9E")]

    private static let restoreId = "standsquare.reader"
    private static let lastUsedKey = "standsquare.reader.last"

    public let events: AsyncStream<ReaderEvent>
    private let out: AsyncStream<ReaderEvent>.Continuation
    private let queue = DispatchQueue(label: "standsquare.reader")
    private var central: CBCentralManager?
    private var reader: CBPeripheral?

    public override init() {
        (events, out) = AsyncStream.makeStream()
        super.init()
    }

    /// Switches the radio on. Call it once, early: restoration needs the same call at relaunch.
    public func start() {
        queue.async {
            guard self.central == nil else { return }
            self.central = CBCentralManager(
                delegate: self, queue: self.queue,
                options: [CBCentralManagerOptionRestoreIdentifierKey: Self.restoreId])
        }
    }

    private func look() {
        guard let central, central.state == .poweredOn else { return }
        out.yield(.link(.looking, name: reader?.name ?? ""))
        if let known = reader ?? lastUsed(central) {
            take(known)
        } else {
            central.scanForPeripherals(withServices: Self.services)
        }
    }

    private func take(_ peripheral: CBPeripheral) {
        reader = peripheral
        peripheral.delegate = self
        central?.stopScan()
        central?.connect(peripheral)
    }

    private func lastUsed(_ central: CBCentralManager) -> CBPeripheral? {
        guard let text = UserDefaults.standard.string(forKey: Self.lastUsedKey),
            let id = UUID(uuidString: text)
        else { return nil }
        return central.retrievePeripherals(withIdentifiers: [id]).first
    }
}

extension ReaderRadio: CBCentralManagerDelegate {
    public func centralManagerDidUpdateState(_ central: CBCentralManager) {
        switch central.state {
        case .poweredOn: look()
        default: out.yield(.link(reader == nil ? .none : .lost, name: reader?.name ?? ""))
        }
    }

    public func centralManager(_ central: CBCentralManager, willRestoreState state: [String: Any]) {
        let kept = state[CBCentralManagerRestoredStatePeripheralsKey] as? [CBPeripheral]
        reader = kept?.first
        reader?.delegate = self
    }

    public func centralManager(
        _ central: CBCentralManager, didDiscover peripheral: CBPeripheral,
        advertisementData: [String: Any], rssi: NSNumber
    ) {
        take(peripheral)
    }

    public func centralManager(_ central: CBCentralManager, didConnect peripheral: CBPeripheral) {
        UserDefaults.standard.set(peripheral.identifier.uuidString, forKey: Self.lastUsedKey)
        peripheral.discoverServices(Self.services)
    }

    public func centralManager(
        _ central: CBCentralManager, didFailToConnect peripheral: CBPeripheral, error: (any Error)?
    ) {
        look()
    }

    public func centralManager(
        _ central: CBCentralManager, didDisconnectPeripheral peripheral: CBPeripheral,
        error: (any Error)?
    ) {
        out.yield(.link(.lost, name: peripheral.name ?? ""))
        look()
    }
}

extension ReaderRadio: CBPeripheralDelegate {
    public func peripheral(_ peripheral: CBPeripheral, didDiscoverServices error: (any Error)?) {
        for service in peripheral.services ?? [] {
            peripheral.discoverCharacteristics(nil, for: service)
        }
    }

    public func peripheral(
        _ peripheral: CBPeripheral, didDiscoverCharacteristicsFor service: CBService,
        error: (any Error)?
    ) {
        for characteristic in service.characteristics ?? []
        where !characteristic.properties.isDisjoint(with: [.notify, .indicate]) {
            peripheral.setNotifyValue(true, for: characteristic)
        }
    }

    public func peripheral(
        _ peripheral: CBPeripheral,
        didUpdateNotificationStateFor characteristic: CBCharacteristic, error: (any Error)?
    ) {
        // Only now can bytes arrive: a connection alone promises none.
        guard error == nil, characteristic.isNotifying else { return }
        out.yield(.link(.connected, name: peripheral.name ?? ""))
    }

    public func peripheral(
        _ peripheral: CBPeripheral, didUpdateValueFor characteristic: CBCharacteristic,
        error: (any Error)?
    ) {
        guard error == nil, let bytes = characteristic.value else { return }
        out.yield(.bytes(bytes))
    }
}
#endif
