"""Sections 3 and 4 of SPEC.md: the encoding, and what every message begins with."""
from book import accept, reject, reject_bytes
from cbor_writer import Raw, double, encode, encode_pairs, half, head, long_uint, nested_lists
from messages import (
    COUNT,
    certificate,
    command,
    fault,
    frame,
    hello,
    minutes,
    notice,
    plan,
    power,
    prompt,
    receipt,
    relay,
    relief,
    renewal,
    result,
    self_test,
)

UPLINK = [hello, minutes, relief, frame, fault, power, relay, self_test, prompt, notice, result, renewal]
EVERY_MESSAGE = UPLINK + [receipt, plan, command, certificate]


def padded_to(size, built):
    """Entry 64 as a byte string that makes the whole payload `size` bytes long."""
    wire, _ = built
    length = size - len(encode({**wire, 64: b""}))
    while len(encode({**wire, 64: bytes(length)})) > size:
        length -= 1
    assert len(encode({**wire, 64: bytes(length)})) == size
    return {64: bytes(length)}


def encoding():
    wire, _ = hello()
    whole = encode(wire)
    pairs = sorted((encode(key), encode(value)) for key, value in wire.items())
    accept("a hello", "FP-3.1 FP-3.3 FP-3.4 FP-3.5 FP-3.6 FP-3.7 FP-3.10 FP-4.1 FP-4.8", hello())
    reject_bytes("no bytes at all", "FP-3.1", "message", b"", None)
    reject_bytes("a byte after the item", "FP-3.1", "message", whole + b"\x00")
    reject_bytes("the last byte missing", "FP-3.1", "message", whole[:-1])
    reject("reserved additional information", "FP-3.1", "message", hello(), {16: Raw(b"\x1c")})
    reject("a break outside an indefinite length", "FP-3.1", "message", hello(), {16: Raw(b"\xff")})
    reject("a simple value below 32 in two bytes", "FP-3.1", "message", hello(), {64: Raw(b"\xf8\x14")})
    reject("a byte string longer than the payload", "FP-3.1", "message", hello(), {64: Raw(b"\x5b" + b"\x7f" * 8)})
    reject("a list longer than the payload", "FP-3.1", "message", hello(), {64: Raw(b"\x9a\xff\xff\xff\xff")})
    reject("a map longer than the payload", "FP-3.1", "message", hello(), {64: Raw(b"\xba\x7f\xff\xff\xff")})
    accept("the longest payload up", "FP-3.2", hello(), padded_to(16384, hello()))
    reject("one byte more than the longest up", "FP-3.2", "message", hello(), padded_to(16385, hello()), envelope=None)
    accept("the longest payload down", "FP-3.2", plan(), padded_to(4096, plan()))
    reject("one byte more than the longest down", "FP-3.2", "message", plan(), padded_to(4097, plan()))
    reject_bytes("a list for a message", "FP-3.3", "message", encode([1, 1]), None)
    reject_bytes("a number for a message", "FP-3.3", "message", encode(1), None)
    reject("a negative key", "FP-3.3", "message", hello(), {-1: 0})
    reject("a text for a key", "FP-3.3", "message", hello(), {"unit": 0})
    reject("a list for a key", "FP-3.3", "message", hello(), {Raw(b"\x80"): 0})
    reject("a number in a longer form than it needs", "FP-3.4", "message", hello(), {22: long_uint(7, 1)})
    reject("a number in eight bytes for four", "FP-3.4", "message", hello(), {22: long_uint(COUNT, 8)})
    reject("a text's length in a longer form", "FP-3.4", "message", hello(), {16: Raw(b"\x78\x01x")})
    reject("a float in a longer form, in a later entry", "FP-3.4", "message", hello(), {64: double(1.5)})
    long_map = bytes([0xB8, len(wire)]) + whole[1:]
    reject_bytes("the map's length in a longer form", "FP-3.4", "message", long_map, None)
    reject_bytes("an indefinite map", "FP-3.5", "message", b"\xbf" + whole[1:] + b"\xff", None)
    reject("an indefinite text", "FP-3.5", "message", hello(), {16: Raw(b"\x7f\x61x\xff")})
    reject("an indefinite list", "FP-3.5", "message", minutes(), {18: Raw(b"\x9f\x00\x00\x00\xff")})
    reject_bytes("keys out of order", "FP-3.6", "message", encode_pairs(pairs[:-2] + pairs[:-3:-1]))
    reject_bytes("a key twice", "FP-3.7", "message", encode_pairs(pairs + pairs[-1:]))
    reject("a key twice in a later entry's map", "FP-3.7", "message", hello(), {64: Raw(b"\xa2\x01\x01\x01\x02")})
    accept("a text of two, three and four byte characters", "FP-3.8", hello(), {64: "é水𐅑"})
    for name, text in (
        ("an overlong form", b"\xc0\xaf"),
        ("a surrogate", b"\xed\xa0\x80"),
        ("a character cut short", b"\xe6\xb0"),
        ("a code point above 10FFFF", b"\xf4\x90\x80\x80"),
    ):
        reject(f"a text with {name}", "FP-3.8", "message", hello(), {64: Raw(head(3, len(text)) + text)})
    accept("eight deep", "FP-3.9", hello(), {64: nested_lists(7)})
    reject("nine deep", "FP-3.9", "message", hello(), {64: nested_lists(8)})
    reject("a thousand deep", "FP-3.9", "message", hello(), {64: nested_lists(1000)})
    reject("tags nested nine deep", "FP-3.9", "message", hello(), {64: Raw(b"\xc1" * 8 + b"\x00")})
    reject("a tagged number", "FP-3.10", "queued", hello(), {22: Raw(b"\xc1\x07")})
    reject("a text for a number", "FP-3.10", "boot", hello(), {3: "12"}, envelope=None)
    reject("a number for a text", "FP-3.10", "unit", hello(), {2: 12}, envelope=None)
    reject("a number for true or false", "FP-5.18", "complete", relief(), {20: 1})
    reject("a list for a byte string", "FP-3.10", "cells", frame(), {21: [0, 1, 2, 3, 4, 5]})
    reject("a byte string for a list", "FP-3.10", "kinds", plan(), {19: b"\x00"})


def envelope():
    for version in (0, 2):
        reject(f"version {version}", "FP-4.1", "version", hello(), {0: version})
    reject("no version", "FP-4.8", "version", hello(), without=[0])
    for build in EVERY_MESSAGE:
        wire, message = build()
        accept(f"message {message['kind']}", "FP-4.2", (wire, message))
    reject("an unknown message", "FP-4.2", "message", hello(), {1: 63})
    reject_bytes("an unknown message sent down", "FP-4.2", "message", encode({**plan()[0], 1: 68}), None, "down")
    reject_bytes("a plan sent up", "FP-4.2", "message", encode({**hello()[0], 1: 65}))
    reject_bytes("a hello sent down", "FP-4.2", "message", encode({**plan()[0], 1: 1}), None, "down")
    for unit in ("A1B", "0-2345678901234567890123456789-Z"):
        accept(f"unit of {len(unit)} characters", "FP-4.3", hello(unit=unit))
    for name, unit in (
        ("two characters", "A1"),
        ("33 characters", "A" * 33),
        ("small letters", "cu-4k7m2"),
        ("a hyphen first", "-CU4"),
        ("a topic wildcard", "CU/+/#"),
    ):
        reject(f"unit of {name}", "FP-4.3", "unit", hello(), {2: unit}, envelope=None)
    for clause, field, key in (("FP-4.4", "boot", 3), ("FP-4.5", "sequence", 4), ("FP-4.6", "uptimeSeconds", 5)):
        for value in (0, COUNT):
            accept(f"{field} {value}", clause, hello(**{field: value}))
        reject(f"{field} above 32 bits", clause, field, hello(), {key: COUNT + 1}, envelope=None)
        reject(f"{field} above 53 bits", clause, field, hello(), {key: 1 << 63}, envelope=None)
        reject(f"{field} below 0", clause, field, hello(), {key: -1}, envelope=None)
        reject(f"{field} missing", "FP-4.8", field, hello(), without=[key], envelope=None)
    for value in (None, 0, COUNT):
        accept(f"wallSeconds {value}", "FP-4.7", hello(wallSeconds=value))
    reject("wallSeconds below 0", "FP-4.7", "wallSeconds", hello(), {6: -1}, envelope=None)
    reject("wallSeconds undefined", "FP-3.10", "wallSeconds", hello(), {6: Raw(b"\xf7")}, envelope=None)
    reject("wallSeconds missing", "FP-4.8", "wallSeconds", hello(), without=[6], envelope=None)
    newer = {64: {"a": [half(1.5), None]}, 1000: Raw(b"\xc1\x00"), 1 << 60: True}
    accept("entries of a newer unit", "FP-4.9", hello(), newer)
    accept("entries of a newer server", "FP-4.9", plan(), {64: 1})
    reject("an undefined key below 64", "FP-4.9", "key 63", hello(), {63: 0})
    reject("another message's key", "FP-4.9", "key 27", hello(), {27: 0})
    reject("an envelope's key sent down", "FP-4.9", "key 3", plan(), {3: 1})
