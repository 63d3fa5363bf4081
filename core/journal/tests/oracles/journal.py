"""A second reading of the journal, from the published CDDL alone.

It shares nothing with the Rust code: the CDDL is parsed and enforced by cddlparser and
cddl-verifier, CBOR is read by cbor2, signatures are checked by cryptography (OpenSSL).
Names of fields, numbers of facts and the words before what is hashed or signed come out
of the CDDL as it is read here; what is done with them is written below from its comments.

    journal.py events CDDL               one event a line in hex on stdin: ok or no
    journal.py file CDDL JOURNAL...      one line of JSON each: what the journal says
    journal.py notice CDDL KEY           the same for notices of keys
    journal.py slip CDDL KEY             one slip's code a line on stdin: its fields, or no
"""

import hashlib
import json
import sqlite3
import sys

import base45
import cbor2
from cddl_verifier import Validator
from cddlparser import ast, parse
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey


class NotWhole(Exception):
    """Something in the journal does not hold."""


class Format:
    """What the CDDL says."""

    def __init__(self, text):
        self.validator = Validator(text)
        self.rules = {rule.name.name: rule.type for rule in parse(text).rules}
        facts = [t.name for t in self.rules["fact"].types]
        self.names = {}
        for fact in facts:
            number, content = self._entries(fact)
            self.names[self._number(number)] = (fact, self._labels(content.types[0]))

    def _entries(self, rule):
        array = self.rules[rule].types[0]
        return [entry.type for entry in array.groupChoices[0].groupEntries]

    @staticmethod
    def _number(type_):
        return int(type_.types[0].value)

    @staticmethod
    def _labels(array):
        if not array.groupChoices:
            return []
        entries = array.groupChoices[0].groupEntries
        return [entry.key.type.name for entry in entries]

    def words(self, name):
        """The bytes of a rule that is a byte string."""
        value = self.rules[name].types[0]
        assert isinstance(value, ast.Value) and value.type == "bytes"
        return value.value.encode()

    def alg(self, name):
        """The one byte of a rule that is a number."""
        return bytes([self._number(self.rules[name])])

    def read(self, data, rule):
        """Decodes what is one `rule` in deterministic CBOR, or raises."""
        try:
            value = cbor2.loads(data)
        except Exception as fault:
            raise NotWhole(f"not CBOR: {fault}") from fault
        if cbor2.dumps(value, canonical=True) != data:
            raise NotWhole("not in its one form")
        result = self.validator.validate(data, root_type=rule)
        if not result.valid:
            raise NotWhole(f"not {rule}: {result.diagnostics[0].message}")
        return value

    def event(self, data):
        """An event: its time, the fact's name, the fact's fields by name."""
        _, at_ms, (number, values) = self.read(data, "event")
        name, labels = self.names[number]
        return at_ms, name, dict(zip(labels, values, strict=True))

    def statement(self, data, rule="statement"):
        """A statement's (or a correction's) fields by name."""
        return self.fields(self.read(data, rule), rule)

    def fields(self, values, rule):
        """The values of an array that is one `rule`, by name."""
        return dict(zip(self._labels(self.rules[rule].types[0]), values, strict=True))


def check(key, signature, *parts):
    """Whether the signature is by the key over the parts put together."""
    try:
        Ed25519PublicKey.from_public_bytes(key).verify(signature, b"".join(parts))
    except (InvalidSignature, ValueError) as fault:
        raise NotWhole("a signature does not hold") from fault


LISTS = {
    "unlocked",
    "confirmed",
    "locked",
    "stepped-away",
    "list-stated",
    "list-signed",
    "list-left",
}


# What else than a statement can be signed for another phone, by the first byte of an array of
# so many items, and the name that each is signed by.
KINDS_SIGNED = {bytes([0x80 + 10]): "correction", bytes([0x80 + 3]): "list"}
DOMAINS = {
    "statement": "sign-off-domain",
    "correction": "correction-domain",
    "list": "list-domain",
}


class Journal:
    """A journal as far as it was followed."""

    def __init__(self, cddl):
        self.cddl = cddl
        self.head = hashlib.sha256(
            cddl.words("genesis-domain") + cddl.alg("hash-alg")
        ).digest()
        self.events = self.sealed = 0
        self.device = None
        self.keys = {}
        self.stated = {}
        self.corrections = {}
        self.begin_session()
        self.signed = []

    def take(self, data):
        """The next event's bytes; gives the head after it."""
        cddl = self.cddl
        _, name, fact = cddl.event(data)
        if (name == "journal-begun") != (self.events == 0):
            raise NotWhole("a journal begins once, with whose it is")
        before = self.head
        after = hashlib.sha256(
            cddl.words("event-domain") + cddl.alg("hash-alg") + before + data
        ).digest()
        algs = cddl.alg("signature-alg") + cddl.alg("hash-alg")
        if name == "journal-begun":
            self.device = fact["device-key"]
        elif name == "key-made":
            self.keys[fact["person"]] = fact["key"]
        elif name == "session-begun":
            self.stated = {}
            self.corrections = {}
            self.begin_session()
        elif name == "stated":
            statement = cddl.statement(fact["statement"])
            self.stated[statement["visit"]] = (after, fact["statement"], statement)
            self.confirmed[statement["visit"]] = set()
        elif name == "correction-stated":
            correction = cddl.statement(fact["correction"], "correction")
            self.corrections[correction["visit"]] = (after, fact["correction"])
        elif name == "correction-signed":
            head, text = self.corrections.get(fact["visit"], (None, None))
            self.sign(fact, head, "correction-domain", text)
        elif name == "practice-signed":
            if fact["person"] not in self.keys:
                raise NotWhole("a record of practice signed by nobody known")
            check(
                self.keys[fact["person"]],
                fact["signature"],
                cddl.words("practice-domain"),
                algs,
                fact["record"],
            )
        elif name == "sealed":
            if fact["head"] != before:
                raise NotWhole("a seal is over something else")
            check(self.device, fact["signature"], cddl.words("seal-domain"), algs, before)
            self.sealed = self.events + 1
            self.list = None
        elif name in LISTS:
            self.once(name, fact, before, after)
        elif name == "signed-elsewhere":
            self.elsewhere(fact)
        elif name == "signed-for-other":
            kind = KINDS_SIGNED.get(fact["statement"][:1], "statement")
            shown = cddl.statement(fact["statement"], kind)
            if kind == "list" and not self.named(shown["dogs"], fact["person"]):
                raise NotWhole("a list is signed by somebody who signs nothing with it")
            self.sign(fact, fact["head"], DOMAINS[kind], fact["statement"])
        elif name == "signed":
            head, text, statement = self.stated.get(fact["visit"], (None, None, None))
            self.sign(fact, head, "sign-off-domain", text)
            self.signed.append(
                [self.events + 1, fact["person"], fact["visit"], statement["dog"]]
            )
        self.head = after
        self.events += 1
        return after

    def named(self, rows, person):
        """The dogs of a list that this person signs with it."""
        dogs = [self.cddl.fields(row, "listed") for row in rows]
        return [(dog["visit"], dog["dog"]) for dog in dogs if person in dog["by"]]

    def elsewhere(self, fact):
        """A signature from the signer's own phone, by the key that stands beside it."""
        cddl, visit = self.cddl, fact["visit"]
        head, text, statement = self.stated.get(visit, (None, None, None))
        kind, dogs = "statement", [(visit, statement and statement["dog"])]
        if visit == 0:
            kind, (head, text, listed) = "list", self.list or (None, None, [])
            dogs = [(d["visit"], d["dog"]) for d in listed if fact["person"] in d["by"]]
        elif fact["head"] == self.corrections.get(visit, (None, None))[0]:
            kind, (head, text), dogs = "correction", self.corrections[visit], []
        if fact["head"] != head or (kind == "list" and not dogs):
            raise NotWhole("a sign-off is over something else")
        check(
            fact["key"],
            fact["signature"],
            cddl.words(DOMAINS[kind]),
            cddl.alg("signature-alg") + cddl.alg("hash-alg"),
            head,
            text,
        )
        self.signed += [[self.events + 1, fact["person"], *dog] for dog in dogs]

    def begin_session(self):
        """Nobody has opened their key or confirmed anything."""
        self.unlocked, self.confirmed, self.list = set(), {}, None

    def once(self, name, fact, before, after):
        """What belongs to a session that is signed once, by one list."""
        cddl = self.cddl
        if name == "unlocked":
            if fact["head"] != before:
                raise NotWhole("an unlocking is over something else")
            self.sign(fact, before, "unlock-domain", b"")
            self.unlocked.add(fact["person"])
        elif name == "locked":
            self.unlocked = set()
        elif name == "stepped-away":
            if fact["away"]:
                self.unlocked.discard(fact["person"])
        elif name == "confirmed":
            head, _, _ = self.stated.get(fact["visit"], (None, None, None))
            if fact["head"] != head or fact["person"] not in self.unlocked:
                raise NotWhole("confirmed something else, or with a key that was not open")
            self.confirmed[fact["visit"]].add(fact["person"])
        elif name == "list-left":
            self.list = None
        elif name == "list-stated":
            dogs = []
            for row in cddl.statement(fact["list"], "list")["dogs"]:
                dog = cddl.fields(row, "listed")
                _, text, _ = self.stated.get(dog["visit"], (None, b"", None))
                hashed = cddl.words("statement-domain") + cddl.alg("hash-alg") + text
                if dog["statement"] != hashlib.sha256(hashed).digest():
                    raise NotWhole("a list names another statement")
                if not set(dog["by"]) <= self.confirmed[dog["visit"]]:
                    raise NotWhole("a list names somebody who did not confirm")
                dogs.append(dog)
            self.list = (after, fact["list"], dogs)
        elif name == "list-signed":
            head, text, dogs = self.list or (None, None, [])
            mine = [dog for dog in dogs if fact["person"] in dog["by"]]
            if not mine:
                raise NotWhole("a list is signed by somebody who signs nothing with it")
            self.sign(fact, head, "list-domain", text)
            for dog in mine:
                self.signed.append(
                    [self.events + 1, fact["person"], dog["visit"], dog["dog"]]
                )

    def sign(self, fact, head, domain, text):
        """Checks what a measurer signed: a statement or a correction."""
        cddl = self.cddl
        if fact["head"] != head or fact["person"] not in self.keys:
            raise NotWhole("a sign-off is over something else, or by nobody known")
        check(
            self.keys[fact["person"]],
            fact["signature"],
            cddl.words(domain),
            cddl.alg("signature-alg") + cddl.alg("hash-alg"),
            head,
            text,
        )


def read_file(cddl, path):
    """Follows the journal in a SQLite file."""
    journal = Journal(cddl)
    reason = ""
    try:
        rows = sqlite3.connect(f"file:{path}?mode=ro&immutable=1", uri=True).execute(
            "SELECT seq, hash, bytes FROM event ORDER BY seq"
        )
        for seq, head, data in rows:
            if seq != journal.events + 1:
                raise NotWhole("an event is missing")
            if journal.take(data) != head:
                raise NotWhole("an event does not follow")
    except (NotWhole, sqlite3.Error) as fault:
        reason = f"event {journal.events + 1}: {fault}"
    return {
        "whole": not reason,
        "reason": reason,
        "events": journal.events,
        "sealed": journal.sealed,
        "head": journal.head.hex(),
        "signed": journal.signed,
    }


KINDS = {"slip": "SSQ1", "notice": "SSK1"}


def read_code(cddl, kind, key, text):
    """The fields of a text that the office signed, checked with its key."""
    begins, _, coded = text.partition(":")
    if begins != KINDS[kind]:
        raise NotWhole(f"not a {kind}")
    try:
        data = base45.b45decode(coded)
    except ValueError as fault:
        raise NotWhole(f"not base45: {fault}") from fault
    message = cddl.read(data, f"{kind}-message")
    protected, unprotected, payload, signature = message.value
    if unprotected[4] != hashlib.sha256(key).digest()[:8]:
        raise NotWhole("another key")
    signed = cbor2.dumps(["Signature1", protected, cddl.words(f"{kind}-purpose"), payload])
    check(key, signature, signed)
    values = cddl.read(payload, kind)
    labels = cddl._labels(cddl.rules[kind].types[0])
    return dict(zip(labels, values, strict=True))


def main():
    mode, cddl = sys.argv[1], Format(open(sys.argv[2], encoding="utf-8").read())
    if mode == "file":
        for path in sys.argv[3:]:
            print(json.dumps(read_file(cddl, path)))
        return
    if mode in KINDS:
        for line in sys.stdin:
            try:
                fields = read_code(cddl, mode, bytes.fromhex(sys.argv[3]), line.rstrip("\n"))
                print(json.dumps(fields, default=bytes.hex))
            except NotWhole as fault:
                print(f"no {fault}")
        return
    for line in sys.stdin:
        try:
            cddl.event(bytes.fromhex(line))
            print("ok")
        except NotWhole as fault:
            print(f"no {fault}")


if __name__ == "__main__":
    main()
