"""The emulated reader on a radio, in a Bluetooth stack that is all software.

Two devices on one simulated link. One is the reader: it takes the bytes of
`standsquare-reader`'s data socket and sends them as a BLE peripheral (a UART-like
GATT service that notifies) or as a classic serial port (RFCOMM, found by SDP).
The other is the phone's radio layer: it finds the reader, connects, and carries
the bytes as they come to the core's socket. It understands none of them.

A reader that drops its data link drops the radio link; the phone's side then
closes the core's socket, looks for the reader again and opens a new one.

    radio.py --carrier ble|rfcomm --reader HOST:PORT --core HOST:PORT [--swapped]

It ends when its standard input closes.
"""

import argparse
import asyncio
import logging
import sys

from bumble.controller import Controller
from bumble.core import (
    BT_BR_EDR_TRANSPORT,
    UUID,
    AdvertisingData,
)
from bumble.device import Device, Peer
from bumble.gatt import Characteristic, Service
from bumble.hci import Address
from bumble.host import Host
from bumble.link import LocalLink
from bumble.rfcomm import Client, Server, find_rfcomm_channel_with_uuid, make_service_sdp_records
from bumble.transport.common import AsyncPipeSink

# The software controller knows no secure connections and says so each time.
logging.getLogger("bumble.controller").setLevel(logging.ERROR)

# The UART-like service of Nordic's SDK; its pages disagree on which of the two
# characteristics notifies, so the phone has to go by the property.
UART = UUID("6E400001-B5A3-F393-E0A9-E50E24DCCA9E")
UART_2 = UUID("6E400002-B5A3-F393-E0A9-E50E24DCCA9E")
UART_3 = UUID("6E400003-B5A3-F393-E0A9-E50E24DCCA9E")
SERIAL_PORT = UUID("00001101-0000-1000-8000-00805F9B34FB")
CHANNEL = 7


def device(name, address, link):
    controller = Controller(name, link=link, public_address=address)
    host = Host(controller, AsyncPipeSink(controller))
    return Device(name=name, address=Address(address), host=host)


class Ble:
    """The reader as a peripheral, the phone as a central."""

    def __init__(self, link, swapped):
        self.reader = device("reader", "C0:11:22:33:44:55", link)
        self.phone = device("phone", "C0:66:77:88:99:AA", link)
        notifies, written = (UART_2, UART_3) if swapped else (UART_3, UART_2)
        self.out = Characteristic(
            notifies, Characteristic.Properties.NOTIFY, Characteristic.READABLE
        )
        unused = Characteristic(
            written, Characteristic.Properties.WRITE, Characteristic.WRITEABLE
        )
        pair = [self.out, unused] if swapped else [unused, self.out]
        self.reader.add_service(Service(UART, pair))
        self.link_up = None

    async def start(self):
        await self.reader.power_on()
        await self.phone.power_on()

    async def connect(self, heard, lost):
        """Finds the reader by its service and subscribes to what notifies."""
        told = bytes(
            AdvertisingData(
                [(AdvertisingData.COMPLETE_LIST_OF_128_BIT_SERVICE_CLASS_UUIDS, bytes(UART))]
            )
        )
        # Often, so that a test need not wait for it.
        await self.reader.start_advertising(
            advertising_data=told,
            auto_restart=False,
            advertising_interval_min=20,
            advertising_interval_max=20,
        )
        found = asyncio.get_running_loop().create_future()

        def seen(advertisement):
            services = advertisement.data.get_all(
                AdvertisingData.COMPLETE_LIST_OF_128_BIT_SERVICE_CLASS_UUIDS
            )
            if UART in [uuid for uuids in services for uuid in uuids] and not found.done():
                found.set_result(advertisement.address)

        self.phone.on(self.phone.EVENT_ADVERTISEMENT, seen)
        await self.phone.start_scanning()
        address = await found
        await self.phone.stop_scanning()
        self.phone.remove_listener(self.phone.EVENT_ADVERTISEMENT, seen)
        self.link_up = await self.phone.connect(address)
        self.link_up.on("disconnection", lambda *_: lost())
        peer = Peer(self.link_up)
        await peer.discover_services([UART])
        for service in peer.get_services_by_uuid(UART):
            await service.discover_characteristics()
            for characteristic in service.characteristics:
                if characteristic.properties & Characteristic.Properties.NOTIFY:
                    await characteristic.subscribe(heard)
                    return
        raise RuntimeError("nothing notifies")

    async def send(self, data):
        # What one notification of an unnegotiated link can carry.
        for at in range(0, len(data), 20):
            await self.reader.notify_subscribers(self.out, data[at : at + 20])

    async def drop(self):
        for connection in list(self.reader.connections.values()):
            await connection.disconnect()


class Rfcomm:
    """The reader as a serial port that SDP names, the phone as its client."""

    def __init__(self, link, _swapped):
        self.reader = device("reader", "C0:11:22:33:44:55", link)
        self.phone = device("phone", "C0:66:77:88:99:AA", link)
        for one in (self.reader, self.phone):
            one.classic_enabled = True
            one.le_enabled = False
        self.server = Server(self.reader)
        self.server.listen(self.opened, channel=CHANNEL)
        self.reader.sdp_service_records = {
            0x00010001: make_service_sdp_records(0x00010001, CHANNEL, SERIAL_PORT)
        }
        self.port = None

    def opened(self, port):
        self.port = port

    async def start(self):
        await self.reader.power_on()
        await self.phone.power_on()

    async def connect(self, heard, lost):
        connection = await self.phone.connect(
            self.reader.public_address, transport=BT_BR_EDR_TRANSPORT
        )
        connection.on("disconnection", lambda *_: lost())
        channel = await find_rfcomm_channel_with_uuid(connection, SERIAL_PORT)
        if channel is None:
            raise RuntimeError("SDP names no serial port")
        mux = await Client(connection).start()
        port = await mux.open_dlc(channel)
        port.sink = heard

    async def send(self, data):
        self.port.write(data)
        await self.port.drain()

    async def drop(self):
        for connection in list(self.reader.connections.values()):
            await connection.disconnect()


def place(text):
    host, port = text.rsplit(":", 1)
    return host, int(port)


async def connect_again(where):
    while True:
        try:
            return await asyncio.open_connection(*place(where))
        except OSError:
            await asyncio.sleep(0.05)


async def run(arguments):
    carrier = {"ble": Ble, "rfcomm": Rfcomm}[arguments.carrier](
        LocalLink(), arguments.swapped
    )
    await carrier.start()
    while True:
        # The reader is switched on when its data link takes us.
        # (Both ends of each stream are kept: one let go of is closed.)
        data, data_out = await connect_again(arguments.reader)
        core = None
        gone = asyncio.Event()
        early = []

        def heard(value):
            if core is None:
                early.append(bytes(value))
            else:
                core.write(bytes(value))

        await carrier.connect(heard, gone.set)
        _core_in, core = await asyncio.open_connection(*place(arguments.core))
        for value in early:
            core.write(value)
        while piece := await data.read(512):
            await carrier.send(piece)
        # What is on the air arrives before the link is seen to end.
        await asyncio.sleep(0.1)
        await carrier.drop()
        await gone.wait()
        core.close()
        data_out.close()


async def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--carrier", choices=["ble", "rfcomm"], required=True)
    parser.add_argument("--reader", required=True)
    parser.add_argument("--core", required=True)
    parser.add_argument("--swapped", action="store_true")
    task = asyncio.create_task(run(parser.parse_args()))
    stdin = asyncio.get_running_loop().run_in_executor(None, sys.stdin.read)
    done, _ = await asyncio.wait({task, stdin}, return_when=asyncio.FIRST_COMPLETED)
    for one in done:
        one.result()


if __name__ == "__main__":
    asyncio.run(main())
