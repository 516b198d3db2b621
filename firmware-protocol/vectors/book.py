"""Where the vectors are gathered: what a reader must accept, and what it must refuse and under which clause."""
from cbor_writer import encode, half
from messages import ENVELOPE

accepted, rejected = [], []


def direction(wire):
    return "down" if wire.get(1) in (64, 65, 66, 67) else "up"


def accept(name, clauses, built, extra=None):
    """`extra`: entries of a newer version, which a reader passes over and so can't write again."""
    wire, message = built
    payload = encode({**wire, **(extra or {})})
    accepted.append(
        {
            "name": name,
            "clauses": clauses.split(),
            "direction": direction(wire),
            "hex": payload.hex(),
            "message": message,
            "writesBack": extra is None,
        }
    )


def reject_bytes(name, clause, field, payload, envelope=ENVELOPE, way="up"):
    rejected.append(
        {
            "name": name,
            "clause": clause,
            "field": field,
            "direction": way,
            "hex": bytes(payload).hex(),
            "envelope": envelope,
        }
    )


def reject(name, clause, field, built, change=None, without=(), envelope="own"):
    """`change`: entries put over the map's own; `without`: keys left out."""
    wire, message = built
    wire = {**wire, **(change or {})}
    for key in without:
        del wire[key]
    way = direction(wire)
    if envelope == "own":
        envelope = {name: message[name] for name in ENVELOPE} if way == "up" else None
    reject_bytes(name, clause, field, encode(wire), envelope, way)


def texts(clause, field, build, key):
    """A field of 1 to 32 printable ASCII characters."""
    for text in ("x", "~" * 32, " 9.0-rc.1 (b)"):
        accept(f"{build.__name__}: {field} of {len(text)} characters", clause, build(**{field: text}))
    for name, text in (("empty", ""), ("of 33 characters", "x" * 33), ("with a line end", "1\n2"), ("not ASCII", "é")):
        reject(f"{build.__name__}: {field} {name}", clause, field, build(), {key: text})
    for name, value in (("as a number", 7), ("null", None), ("as bytes", b"x")):
        reject(f"{build.__name__}: {field} {name}", "FP-3.10", field, build(), {key: value})


def edges(clause, field, build, key, low, high, **fixed):
    """The lowest and highest value of a field, and the value beyond each."""
    for word, value in (("lowest", low), ("highest", high)):
        accept(f"{build.__name__}: {word} {field}", clause, build(**{**fixed, field: value}))
    for word, value in (("below the lowest", low - 1), ("above the highest", high + 1)):
        reject(f"{build.__name__}: {field} {word}", clause, field, build(**fixed), {key: value})
    reject(f"{build.__name__}: {field} as a float", "FP-3.10", field, build(**fixed), {key: half(1.0)})
    reject(f"{build.__name__}: {field} missing", "FP-4.8", field, build(**fixed), without=[key])
