"""Eight-byte words on standard input; their CRC-16/KERMIT, two bytes each, out."""

import sys

from crccheck.crc import CrcKermit

words = sys.stdin.buffer.read()
sys.stdout.buffer.write(
    b"".join(
        CrcKermit.calc(words[i : i + 8]).to_bytes(2, "little")
        for i in range(0, len(words), 8)
    )
)
