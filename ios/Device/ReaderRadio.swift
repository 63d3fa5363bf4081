#if canImport(CoreBluetooth)
import CoreBluetooth
import StandsquareModel

/// What the radio has to say.
public enum ReaderEvent: Sendable {
    case link(LinkState, name: String, reader: String)
    case bytes(Data)
    case seen(reader: String, name: String, way: ReaderWay, signal: Int32?)
    case battery(reader: String, percent: UInt8)
}

/// The chip readers over Bluetooth Low Energy: bytes on, as the radio cut them.
///
/// What it does next is for `ReaderSearch` to say, from what the session wants; here that is
/// handed to CoreBluetooth. A connection asked of CoreBluetooth has no time limit, and the system
/// may end the app while it waits and start it again when the reader is there (state
/// restoration). What the bytes mean is for the core.
///
/// `@unchecked Sendable`: every stored property is touched on `queue` only, on which
/// CoreBluetooth calls the delegate too.
public final class ReaderRadio: NSObject, @unchecked Sendable {
    /// Services by which a reader is found. The serial-port-like one that most small readers
    /// have; its two characteristics are told apart by their properties, because the
    /// published pages disagree on which of them notifies.
    public static let services = [CBUUID(string: "6E400001-B5A3-F393-E0A9-E50E24DCCA9E")]

    /// The Bluetooth SIG's battery service and its one characteristic (Assigned Numbers, from
    /// memory).
    private static let battery = CBUUID(string: "180F")
    private static let batteryLevel = CBUUID(string: "2A19")

    private static let restoreId = "standsquare.reader"

    public let events: AsyncStream<ReaderEvent>
    private let out: AsyncStream<ReaderEvent>.Continuation
    private let queue = DispatchQueue(label: "standsquare.reader")
    private var central: CBCentralManager?
    private var search = ReaderSearch()
    private var known: [String: CBPeripheral] = [:]

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

    /// Does what the session asks of a radio.
    public func follow(_ reader: ReaderState) {
        queue.async {
            let wanted = reader.wanted.flatMap { $0.way == .ble ? $0.reader : nil }
            self.take(self.search.follow(wanted: wanted, look: reader.look))
        }
    }

    private func take(_ steps: [ReaderSearch.Step]) {
        for step in steps {
            switch step {
            case .scan:
                // Told again and again: the session forgets a reader that is no longer heard.
                central?.scanForPeripherals(
                    withServices: Self.services,
                    options: [CBCentralManagerScanOptionAllowDuplicatesKey: true])
            case .stopScan: central?.stopScan()
            case .connect(let id): connect(id)
            case .letGo(let id):
                if let old = known[id] { central?.cancelPeripheralConnection(old) }
            }
        }
    }

    private func connect(_ id: String) {
        out.yield(.link(.looking, name: known[id]?.name ?? "", reader: id))
        guard let peripheral = known[id] ?? kept(id) else { return }
        known[id] = peripheral
        peripheral.delegate = self
        central?.connect(peripheral)
    }

    private func kept(_ id: String) -> CBPeripheral? {
        UUID(uuidString: id).flatMap {
            central?.retrievePeripherals(withIdentifiers: [$0]).first
        }
    }
}

extension CBPeripheral {
    /// What the session knows it by: the same on this phone for as long as it has the app.
    fileprivate var reader: String { identifier.uuidString }
}

extension ReaderRadio: CBCentralManagerDelegate {
    public func centralManagerDidUpdateState(_ central: CBCentralManager) {
        let powered = central.state == .poweredOn
        if !powered, let wanted = search.current {
            out.yield(.link(.lost, name: known[wanted]?.name ?? "", reader: wanted))
        }
        take(search.radio(powered: powered))
        // A connection that was restored stands already: its services are asked for again.
        if powered, let wanted = search.current, let one = known[wanted], one.state == .connected {
            one.discoverServices(Self.services + [Self.battery])
        }
    }

    public func centralManager(_ central: CBCentralManager, willRestoreState state: [String: Any]) {
        let kept = state[CBCentralManagerRestoredStatePeripheralsKey] as? [CBPeripheral]
        for peripheral in kept ?? [] {
            peripheral.delegate = self
            known[peripheral.reader] = peripheral
            take(search.restored(peripheral.reader))
        }
    }

    public func centralManager(
        _ central: CBCentralManager, didDiscover peripheral: CBPeripheral,
        advertisementData: [String: Any], rssi: NSNumber
    ) {
        known[peripheral.reader] = peripheral
        let name = advertisementData[CBAdvertisementDataLocalNameKey] as? String
        out.yield(
            .seen(
                reader: peripheral.reader, name: name ?? peripheral.name ?? "", way: .ble,
                // 127 stands for a strength that could not be read.
                signal: rssi.intValue == 127 ? nil : rssi.int32Value))
    }

    public func centralManager(_ central: CBCentralManager, didConnect peripheral: CBPeripheral) {
        peripheral.discoverServices(Self.services + [Self.battery])
    }

    public func centralManager(
        _ central: CBCentralManager, didFailToConnect peripheral: CBPeripheral, error: (any Error)?
    ) {
        take(search.lost(peripheral.reader))
    }

    public func centralManager(
        _ central: CBCentralManager, didDisconnectPeripheral peripheral: CBPeripheral,
        error: (any Error)?
    ) {
        out.yield(.link(.lost, name: peripheral.name ?? "", reader: peripheral.reader))
        take(search.lost(peripheral.reader))
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
        for characteristic in service.characteristics ?? []
        where characteristic.uuid == Self.batteryLevel {
            peripheral.readValue(for: characteristic)
        }
    }

    public func peripheral(
        _ peripheral: CBPeripheral,
        didUpdateNotificationStateFor characteristic: CBCharacteristic, error: (any Error)?
    ) {
        // Only now can bytes arrive: a connection alone promises none.
        guard error == nil, characteristic.isNotifying, characteristic.uuid != Self.batteryLevel
        else { return }
        out.yield(.link(.connected, name: peripheral.name ?? "", reader: peripheral.reader))
    }

    public func peripheral(
        _ peripheral: CBPeripheral, didUpdateValueFor characteristic: CBCharacteristic,
        error: (any Error)?
    ) {
        guard error == nil, let bytes = characteristic.value else { return }
        if characteristic.uuid == Self.batteryLevel {
            if let percent = bytes.first {
                out.yield(.battery(reader: peripheral.reader, percent: percent))
            }
        } else {
            out.yield(.bytes(bytes))
        }
    }
}
#endif
