"""A second reading of posts in packets, from core/sync/docs/README.md alone.

X25519, HMAC and ChaCha20-Poly1305 are those of cryptography (OpenSSL). HPKE's key schedule is
written from RFC 9180, sections 4.1, 5.1 and 5.3; HChaCha20, which makes XChaCha20-Poly1305 of
the other, from draft-irtf-cfrg-xchacha-03, section 2.2.

    packets.py OFFICE-SEED    packets to the office, then packets back, one a line in hex on
                              stdin: the post in hex, then the answer's status and it in hex
"""

import hashlib
import hmac
import struct
import sys

from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey, X25519PublicKey
from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305

KEM = b"KEM" + struct.pack(">H", 0x0020)
SUITE = b"HPKE" + struct.pack(">HHH", 0x0020, 0x0001, 0xFFFF)


def extract(suite, salt, label, ikm):
    return hmac.digest(salt or bytes(32), b"HPKE-v1" + suite + label + ikm, "sha256")


def expand(suite, secret, label, info, length):
    info = struct.pack(">H", length) + b"HPKE-v1" + suite + label + info
    out, block = b"", b""
    while len(out) < length:
        block = hmac.digest(secret, block + info + bytes([len(out) // 32 + 1]), "sha256")
        out += block
    return out[:length]


def keys(seed, enc):
    """Both directions' keys at the office whose Ed25519 seed this is."""
    own = X25519PrivateKey.from_private_bytes(hashlib.sha512(seed).digest()[:32])
    public = own.public_key().public_bytes(
        serialization.Encoding.Raw, serialization.PublicFormat.Raw
    )
    dh = own.exchange(X25519PublicKey.from_public_bytes(enc))
    prk = extract(KEM, b"", b"eae_prk", dh)
    shared = expand(KEM, prk, b"shared_secret", enc + public, 32)
    context = (
        b"\0"
        + extract(SUITE, b"", b"psk_id_hash", b"")
        + extract(SUITE, b"", b"info_hash", b"standsquare packets 1")
    )
    secret = extract(SUITE, shared, b"secret", b"")
    exporter = expand(SUITE, secret, b"exp", context, 32)
    return [expand(SUITE, exporter, b"sec", name, 32) for name in (b"there", b"back")]


def rotl(x, n):
    return ((x << n) | (x >> (32 - n))) & 0xFFFFFFFF


def hchacha(key, nonce):
    s = list(struct.unpack("<16I", b"expand 32-byte k" + key + nonce))

    def quarter(a, b, c, d):
        s[a] = (s[a] + s[b]) & 0xFFFFFFFF
        s[d] = rotl(s[d] ^ s[a], 16)
        s[c] = (s[c] + s[d]) & 0xFFFFFFFF
        s[b] = rotl(s[b] ^ s[c], 12)
        s[a] = (s[a] + s[b]) & 0xFFFFFFFF
        s[d] = rotl(s[d] ^ s[a], 8)
        s[c] = (s[c] + s[d]) & 0xFFFFFFFF
        s[b] = rotl(s[b] ^ s[c], 7)

    for _ in range(10):
        for i in range(4):
            quarter(i, 4 + i, 8 + i, 12 + i)
        for i in range(4):
            quarter(i, 4 + (i + 1) % 4, 8 + (i + 2) % 4, 12 + (i + 3) % 4)
    return struct.pack("<8I", *(s[:4] + s[12:]))


def opened(key, nonce, sealed):
    inner = hchacha(key, nonce[:16])
    return ChaCha20Poly1305(inner).decrypt(bytes(4) + nonce[16:], sealed, None)


def whole(pieces, of):
    assert sorted(pieces) == list(range(of)), "a piece is missing"
    return b"".join(pieces[n] for n in range(of))


def main():
    seed = bytes.fromhex(sys.argv[1])
    post, answer = {}, {}
    there = back = None
    for line in sys.stdin:
        packet = bytes.fromhex(line)
        assert len(packet) <= 1200 and packet[4] == 1
        if packet[:4] == b"SSQP":
            if there is None:
                there, back = keys(seed, packet[5:37])
            plain = opened(there, bytes(20) + packet[37:41], packet[41:])
            kind, nth, of = struct.unpack(">BHH", plain[:5])
            assert kind == 0
            post[nth] = plain[5:]
            posts = of
        else:
            assert packet[:4] == b"SSQB"
            plain = opened(back, packet[5:29], packet[29:])
            if plain[0] == 0:
                bits = plain[5:]
                assert len(bits) == (posts + 7) // 8
                continue
            kind, status, nth, of = struct.unpack(">BHHH", plain[:7])
            assert kind == 1
            answer[nth] = plain[7:]
            answers = of
    print(whole(post, posts).hex())
    print(status, whole(answer, answers).hex())


main()
