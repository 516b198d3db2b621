"""Section 15 of SPEC.md: log files. zlib's CRC-32 is the checksum; what can be read is written out by hand."""
import zlib

from book import accepted
from cbor_writer import encode, head

log_files = []
UNIT = "CU-4K7M2"


def header(unit=UNIT, version=1, code=128):
    return encode({0: version, 1: code, 2: unit})


def record(content, checksum=None):
    return encode([content, zlib.crc32(content) if checksum is None else checksum])


def log(name, file, clauses, records=None, faults=(), reason=None):
    """`records`: payloads that are read; `faults`: number, byte and what; `reason`: None for a log."""
    log_files.append(
        {
            "name": name,
            "clauses": clauses,
            "hex": file.hex(),
            "log": reason is None,
            "records": [content.hex() for content in records or []],
            "faults": [{"number": number, "byte": byte, "what": what} for number, byte, what in faults],
        }
    )


def logs():
    ups = [bytes.fromhex(vector["hex"]) for vector in accepted if vector["direction"] == "up"][:3]
    one, two, three = ups
    whole = header() + record(one) + record(two) + record(three)
    second = len(header() + record(one))
    third = len(header() + record(one) + record(two))
    log("no record at all", header(), ["FP-15.2"], [])
    log("three records", whole, ["FP-15.2", "FP-15.3"], ups)
    log("cut off within the third", whole[: third + 9], ["FP-15.5"], [one, two], [(3, third, "cut-off")])
    log("cut off within a head", whole[: third + 2], ["FP-15.5"], [one, two], [(3, third, "cut-off")])
    log("cut off before a checksum", whole[: third - 5], ["FP-15.5"], [one], [(2, second, "cut-off")])
    log(
        "one damaged, the rest whole",
        header() + record(one) + record(two, zlib.crc32(two) ^ 1) + record(three),
        ["FP-15.4"],
        [one, three],
        [(2, second, "damaged")],
    )
    log(
        "something that is no record",
        header() + record(one) + encode("no record") + record(three),
        ["FP-15.5"],
        [one],
        [(2, second, "not-a-record")],
    )
    log(
        "longer than a message may be",
        header() + record(one) + b"\x82" + head(2, 16_385) + bytes(9),
        ["FP-15.3"],
        [one],
        [(2, second, "not-a-record")],
    )
    log("empty", b"", ["FP-15.2"], reason="no header")
    log("a message and no log", one, ["FP-15.2"], reason="no header")
    log("of a later version", header(version=2), ["FP-15.2"], reason="version")
    log("of another code", header(code=129), ["FP-15.2"], reason="code")
    log("of no unit", header(unit="-"), ["FP-15.2"], reason="unit")
