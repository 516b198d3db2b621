"""Every message twice over: as the map SPEC.md gives it on the wire, and as the JSON a reader should make of it.

Nothing is checked here, so that a wrong value can be written as easily as a right one.
"""

RESETS = ["power-on", "brown-out", "watchdog", "software", "user-off", "unknown"]
POWER = ["on-battery", "charging", "charged"]
RELIEFS = ["lift", "lean-left", "lean-right", "lean-forward", "tilt"]
FAULTS = [
    "battery-cut-off",
    "charge-too-hot",
    "charge-too-cold",
    "cell-hot",
    "grid-self-test",
    "store-overrun",
    "clock-lost",
    "wet",
]

ENVELOPE_KEYS = {"unit": 2, "boot": 3, "sequence": 4, "uptimeSeconds": 5, "wallSeconds": 6}
ENVELOPE = {"unit": "CU-4K7M2", "boot": 12, "sequence": 340, "uptimeSeconds": 86400, "wallSeconds": 1777800000}
COUNT = 0xFFFFFFFF


def number_of(names, value):
    """Place of a name; a value that is no name goes out as it is."""
    return names.index(value) if value in names else value


def message(kind, code, body_keys, body, wire_of=None, **over):
    """@return (wire map, JSON)"""
    fields = {**ENVELOPE, **body, **over}
    wire = {0: 1, 1: code}
    for name, key in ENVELOPE_KEYS.items():
        wire[key] = fields[name]
    for name, key in body_keys.items():
        wire[key] = fields[name]
    if wire_of:
        wire.update(wire_of(fields))
    json = {"kind": kind, **fields}
    if isinstance(json.get("cells"), bytes):
        json["cells"] = json["cells"].hex()
    return wire, json


def hello(**over):
    keys = {"firmware": 16, "hardware": 17, "rows": 19, "columns": 20, "pitchMillimetres": 21, "queued": 22}
    body = {
        "firmware": "2.3.1",
        "hardware": "C4",
        "reset": "power-on",
        "rows": 16,
        "columns": 16,
        "pitchMillimetres": 25,
        "queued": 7,
    }
    return message("hello", 1, keys, body, lambda f: {18: number_of(RESETS, f["reset"])}, **over)


def minute(**over):
    record = {
        "loaded": True,
        "power": "on-battery",
        "loadHectograms": 623,
        "centreRightPercent": -4,
        "centreFrontPercent": 11,
        "cellMillivolts": 3871,
        "temperatureDecicelsius": 298,
        "signalDecibelMilliwatts": -61,
    }
    return {**record, **over}


COLUMNS = {
    "loadHectograms": 18,
    "centreRightPercent": 19,
    "centreFrontPercent": 20,
    "cellMillivolts": 21,
    "temperatureDecicelsius": 22,
}


def differences(values):
    return [value if at == 0 else value - values[at - 1] for at, value in enumerate(values)]


def flags(record):
    relay = 0 if record["signalDecibelMilliwatts"] is None else 8
    return int(record["loaded"]) | number_of(POWER, record["power"]) << 1 | relay


def minute_columns(fields):
    records = fields["minutes"]
    wire = {16: fields["firstUptimeSeconds"], 17: bytes(flags(record) for record in records)}
    for name, key in COLUMNS.items():
        wire[key] = differences([record[name] for record in records])
    signals = [record["signalDecibelMilliwatts"] for record in records]
    wire[23] = differences([signal for signal in signals if signal is not None])
    return wire


def minutes(**over):
    records = [
        minute(),
        minute(loadHectograms=625, centreRightPercent=-3, temperatureDecicelsius=299, signalDecibelMilliwatts=None),
        minute(
            loaded=False,
            power="charging",
            loadHectograms=4,
            centreRightPercent=0,
            centreFrontPercent=0,
            cellMillivolts=3880,
            signalDecibelMilliwatts=-70,
        ),
    ]
    body = {"firstUptimeSeconds": 86220, "minutes": records}
    return message("minutes", 2, {}, body, minute_columns, **over)


def relief(**over):
    keys = {"startUptimeSeconds": 17, "holdSeconds": 18, "depthPercent": 19, "complete": 20, "prompted": 21}
    body = {
        "relief": "lean-left",
        "startUptimeSeconds": 86000,
        "holdSeconds": 95,
        "depthPercent": 72,
        "complete": True,
        "prompted": False,
    }
    return message("relief", 3, keys, body, lambda f: {16: number_of(RELIEFS, f["relief"])}, **over)


def frame(**over):
    keys = {
        "takenUptimeSeconds": 16,
        "loaded": 17,
        "rows": 18,
        "columns": 19,
        "temperatureDecicelsius": 20,
        "cells": 21,
    }
    body = {
        "takenUptimeSeconds": 86390,
        "loaded": True,
        "rows": 2,
        "columns": 3,
        "temperatureDecicelsius": 301,
        "cells": bytes([0, 120, 255, 3, 118, 249]),
    }
    return message("frame", 4, keys, body, **over)


def lost_list(lost):
    return [lost["boot"], lost["fromSequence"], lost["toSequence"]] if isinstance(lost, dict) else lost


def fault(**over):
    body = {"fault": "battery-cut-off", "atUptimeSeconds": 86399, "lost": None, "value": 2810}
    wire = lambda f: {16: number_of(FAULTS, f["fault"]), 18: lost_list(f["lost"])}
    return message("fault", 5, {"atUptimeSeconds": 17, "value": 19}, body, wire, **over)


LOST = {"boot": 11, "fromSequence": 900, "toSequence": 1203}


def receipt(**over):
    body = {
        "stored": [
            {"boot": 11, "through": 1203, "holes": []},
            {"boot": 12, "through": 340, "holes": [[17, 17], [200, 212]]},
        ],
        "serverUnixSeconds": 1777800004,
    }
    fields = {**body, **over}
    wire = {0: 1, 1: 64, 16: [stored_list(entry) for entry in fields["stored"]], 17: fields["serverUnixSeconds"]}
    return wire, {"kind": "receipt", **fields}


def stored_list(entry):
    return [entry["boot"], entry["through"], entry["holes"]] if isinstance(entry, dict) else entry


def plan(**over):
    body = {"version": 3, "intervalMinutes": 30, "holdSeconds": 60, "kinds": ["lift", "lean-left", "lean-right", "tilt"]}
    fields = {**body, **over}
    kinds = [number_of(RELIEFS, kind) for kind in fields["kinds"]]
    wire = {0: 1, 1: 65, 16: fields["version"], 17: fields["intervalMinutes"], 18: fields["holdSeconds"], 19: kinds}
    return wire, {"kind": "plan", **fields}
