#!/usr/bin/env python3
"""A bad link, real down to the packet: pairs of network namespaces, each joined by two TUN
devices whose packets this program carries from one to the other, late, or not at all.

    forwarder.py LANES SEED

Lane N has the namespaces ssq-a-N (10.77.N.1) and ssq-b-N (10.77.N.2). Every packet takes
150 ms each way; one in five is dropped, whichever way it goes; for 3 s of every 8 s nothing
passes. Both ends use the congestion control that phones and usual servers have (cubic), whatever
this kernel's own default is: one that does not slow down at losses, such as bbr, would be another
link. When all is there, the line "ready" is printed; when standard input ends, everything is taken
away again. Needs root, ip(8) and /dev/net/tun.
"""

import fcntl
import heapq
import os
import random
import selectors
import struct
import subprocess
import sys
import time

DELAY_S = 0.150
LOSS = 0.20
PERIOD_S = 8.0
DOWN_S = 3.0
CONGESTION = "cubic"

TUNSETIFF = 0x400454CA
IFF_TUN = 0x0001
IFF_NO_PI = 0x1000


def ip(*words):
    subprocess.run(["ip", *words], check=True)


def tun(name):
    """A TUN device; what is read from it, the kernel sent into it."""
    device = os.open("/dev/net/tun", os.O_RDWR | os.O_NONBLOCK)
    fcntl.ioctl(device, TUNSETIFF, struct.pack("16sH14x", name.encode(), IFF_TUN | IFF_NO_PI))
    return device


def end(side, lane):
    """One side of a lane: its namespace with its only device in it."""
    space, device = f"ssq-{side}-{lane}", f"ssq{side}{lane}"
    subprocess.run(["ip", "netns", "delete", space], stderr=subprocess.DEVNULL, check=False)
    ip("netns", "add", space)
    opened = tun(device)
    ip("link", "set", device, "netns", space)
    here, there = (1, 2) if side == "a" else (2, 1)
    ip("-n", space, "addr", "add", f"10.77.{lane}.{here}", "peer", f"10.77.{lane}.{there}", "dev", device)
    ip("-n", space, "link", "set", device, "up")
    ip("-n", space, "link", "set", "lo", "up")
    ip("-n", space, "route", "replace", f"10.77.{lane}.{there}/32", "dev", device,
       "src", f"10.77.{lane}.{here}", "congctl", CONGESTION)
    return opened


class Lane:
    """Two devices and what is under way between them."""

    def __init__(self, number, seed):
        self.random = random.Random(seed * 1000 + number)
        self.a, self.b = end("a", number), end("b", number)
        # Lanes are not down at the same time.
        self.phase = self.random.uniform(0, PERIOD_S)

    def is_down(self, now):
        return (now + self.phase) % PERIOD_S < DOWN_S

    def drops(self, now):
        # Drawn for every packet, so that the run of luck does not hang on the clock.
        lost = self.random.random() < LOSS
        return lost or self.is_down(now)


def carry(lanes):
    """Carries packets until standard input ends."""
    select = selectors.DefaultSelector()
    select.register(sys.stdin, selectors.EVENT_READ, None)
    for lane in lanes:
        select.register(lane.a, selectors.EVENT_READ, (lane, lane.b))
        select.register(lane.b, selectors.EVENT_READ, (lane, lane.a))
    under_way, count = [], 0
    while True:
        wait = max(0.0, under_way[0][0] - time.monotonic()) if under_way else None
        for key, _ in select.select(wait):
            if key.data is None:
                if not os.read(sys.stdin.fileno(), 64):
                    return
                continue
            lane, to = key.data
            while True:
                try:
                    packet = os.read(key.fd, 65536)
                except BlockingIOError:
                    break
                now = time.monotonic()
                # IPv6 finds no use here; its router questions would only count as packets.
                if packet[0] >> 4 == 4 and not lane.drops(now):
                    count += 1
                    heapq.heappush(under_way, (now + DELAY_S, count, to, packet))
        now = time.monotonic()
        while under_way and under_way[0][0] <= now:
            _, _, to, packet = heapq.heappop(under_way)
            try:
                os.write(to, packet)
            except OSError:
                pass  # as on any link, a packet may get lost


def main():
    count, seed = int(sys.argv[1]), int(sys.argv[2])
    if not 1 <= count <= 100:
        sys.exit("forwarder.py: 1 to 100 lanes")
    numbers = range(count)
    try:
        # The link keeps its time whatever else this machine does.
        os.sched_setscheduler(0, os.SCHED_FIFO, os.sched_param(10))
    except PermissionError:
        print("forwarder.py: may not go before other work; a busy machine makes the link slower", file=sys.stderr)
    try:
        lanes = [Lane(number, seed) for number in numbers]
        print("ready", flush=True)
        carry(lanes)
    finally:
        for number in numbers:
            for side in "ab":
                subprocess.run(
                    ["ip", "netns", "delete", f"ssq-{side}-{number}"],
                    stderr=subprocess.DEVNULL,
                    check=False,
                )


if __name__ == "__main__":
    main()
