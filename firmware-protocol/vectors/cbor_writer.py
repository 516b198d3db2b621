"""A CBOR writer (RFC 8949) of its own, so that the vectors do not lean on the codec they test.

Deterministic by default (section 4.2.1); the escape hatches below write what a careless sender would.
"""
import struct


class Raw(bytes):
    """Bytes that stand in the output as they are."""


def head(major, argument):
    if argument < 24:
        return bytes([major << 5 | argument])
    for information, width, letter in ((24, 1, "B"), (25, 2, "H"), (26, 4, "I"), (27, 8, "Q")):
        if argument < 1 << 8 * width:
            return bytes([major << 5 | information]) + struct.pack(">" + letter, argument)
    raise ValueError(argument)


def encode(item):
    if isinstance(item, Raw):
        return bytes(item)
    if item is None:
        return b"\xf6"
    if isinstance(item, bool):
        return b"\xf5" if item else b"\xf4"
    if isinstance(item, int):
        return head(0, item) if item >= 0 else head(1, -1 - item)
    if isinstance(item, bytes):
        return head(2, len(item)) + item
    if isinstance(item, str):
        text = item.encode("utf-8")
        return head(3, len(text)) + text
    if isinstance(item, list):
        return head(4, len(item)) + b"".join(map(encode, item))
    if isinstance(item, dict):
        return encode_pairs(sorted((encode(key), encode(value)) for key, value in item.items()))
    raise TypeError(item)


def encode_pairs(pairs):
    """A map from encoded pairs, in the order given, right or wrong."""
    return head(5, len(pairs)) + b"".join(key + value for key, value in pairs)


def long_uint(value, width):
    """An unsigned integer in a head of 1, 2, 4 or 8 bytes, needed or not."""
    information, letter = {1: (24, "B"), 2: (25, "H"), 4: (26, "I"), 8: (27, "Q")}[width]
    return Raw(bytes([information]) + struct.pack(">" + letter, value))


def half(value):
    return Raw(b"\xf9" + struct.pack(">e", value))


def double(value):
    return Raw(b"\xfb" + struct.pack(">d", value))


def nested_lists(depth):
    """`depth` lists in one another; the innermost is empty."""
    return Raw(b"\x81" * (depth - 1) + b"\x80")
