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

POWER_EVENTS = ["charge-start", "charge-end", "cut-off", "charge-too-hot", "charge-too-cold", "voltage-step"]
CHARGE_ENDS = ["full", "interrupted"]
RELAY_LINKS = ["up", "down", "not-told"]
NOTICES = ["certificate-expires"]
RESULT_STATES = ["accepted", "done", "refused", "expired"]
REFUSAL_REASONS = ["unsupported", "unreadable", "busy", "battery-low", "seat-loaded", "failed"]
BREAK_OFFS = ["sat-back", "got-up", "other-relief", "power-lost", "unknown"]
ACTIONS = ["plan", "frame", "self-test", "identify", "report", "renew-certificate", "forget"]

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
    return wire, as_json({"kind": kind, **fields})


def as_json(value):
    if isinstance(value, bytes):
        return value.hex()
    if isinstance(value, list):
        return [as_json(item) for item in value]
    if isinstance(value, dict):
        return {name: as_json(item) for name, item in value.items()}
    return value


def optional(fields, keys, wire_of=None):
    """Entries that stand only where a value was given."""
    given = {key: fields[name] for name, key in keys.items() if name in fields}
    return given if wire_of is None else {key: wire_of(value) for key, value in given.items()}


def parts(value):
    """A record that goes as the list of its values."""
    return list(value.values()) if isinstance(value, dict) else value


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
    wire = lambda f: {
        18: number_of(RESETS, f["reset"]),
        **optional(f, {"oldestUnsent": 23}, parts),
        **optional(f, {"storeCapacityMessages": 24, "certificateNotAfter": 25, "relay": 26}),
    }
    return message("hello", 1, keys, body, wire, **over)


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
    humidity = [record["humidityPercent"] for record in records if "humidityPercent" in record]
    if humidity:
        wire[24] = differences(humidity)
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
    wire = lambda f: {
        16: number_of(RELIEFS, f["relief"]),
        **optional(f, {"brokenOff": 22}, lambda reason: number_of(BREAK_OFFS, reason)),
        **optional(f, {"sideLoadPercent": 23}, parts),
    }
    return message("relief", 3, keys, body, wire, **over)


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


def power(**over):
    keys = {"atUptimeSeconds": 17, "cellMillivolts": 18, "temperatureDecicelsius": 19}
    body = {
        "event": "charge-start",
        "atUptimeSeconds": 86350,
        "cellMillivolts": 3602,
        "temperatureDecicelsius": 241,
    }
    wire = lambda f: {
        16: number_of(POWER_EVENTS, f["event"]),
        **optional(f, {"ended": 20}, lambda end: number_of(CHARGE_ENDS, end)),
        **optional(f, {"step": 21}, parts),
    }
    return message("power", 6, keys, body, wire, **over)


STEP = {"restMillivolts": 3871, "loadMillivolts": 3829, "burstMilliamperes": 240}


def relay(**over):
    keys = {"relay": 16, "heardUptimeSeconds": 17, "relayUptimeSeconds": 18, "signalDecibelMilliwatts": 20}
    body = {
        "relay": "R-09f3",
        "heardUptimeSeconds": 86390,
        "relayUptimeSeconds": 5210,
        "link": "down",
        "signalDecibelMilliwatts": -67,
    }
    return message("relay", 7, keys, body, lambda f: {19: number_of(RELAY_LINKS, f["link"])}, **over)


def self_test(**over):
    keys = {
        "atUptimeSeconds": 16,
        "passed": 17,
        "rows": 18,
        "columns": 19,
        "cellsTested": 20,
        "cellsFailed": 21,
        "failedCells": 22,
        "failedRows": 23,
        "failedColumns": 24,
    }
    body = {
        "atUptimeSeconds": 86380,
        "passed": False,
        "rows": 16,
        "columns": 16,
        "cellsTested": 256,
        "cellsFailed": 2,
        "failedCells": [37, 201],
        "failedRows": [],
        "failedColumns": [5],
    }
    return message("self-test", 8, keys, body, lambda f: optional(f, {"command": 25}), **over)


def prompt(**over):
    keys = {"givenUptimeSeconds": 16, "planVersion": 17, "followedBySequence": 18}
    body = {"givenUptimeSeconds": 85900, "planVersion": 3, "followedBySequence": 338}
    return message("prompt", 9, keys, body, **over)


def notice(**over):
    body = {"notice": "certificate-expires", "dueUnixSeconds": 1780392000}
    return message("notice", 10, {"dueUnixSeconds": 17}, body, lambda f: {16: number_of(NOTICES, f["notice"])}, **over)


def result(**over):
    body = {"command": "c-0192", "atUptimeSeconds": 86399, "state": "refused", "reason": "seat-loaded"}
    wire = lambda f: {
        17: number_of(RESULT_STATES, f["state"]),
        18: None if f["reason"] is None else number_of(REFUSAL_REASONS, f["reason"]),
        **optional(f, {"detail": 20}),
    }
    return message("result", 11, {"command": 16, "atUptimeSeconds": 19}, body, wire, **over)


# Not a request: what is inside the bytes is for whoever checks its signature.
DER = bytes.fromhex("3007020100a0020500")


def renewal(**over):
    return message("renewal", 12, {"request": 16}, {"request": DER}, lambda f: optional(f, {"command": 17}), **over)


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


def command(**over):
    body = {"id": "c-0192", "expiresUnixSeconds": 1777886400, "action": "self-test"}
    fields = {**body, **over}
    wire = {
        0: 1,
        1: 66,
        16: fields["id"],
        17: fields["expiresUnixSeconds"],
        18: number_of(ACTIONS, fields["action"]),
        **optional(fields, {"planVersion": 19}),
    }
    return wire, {"kind": "command", **fields}


def certificate(**over):
    body = {"renewal": {"boot": 12, "sequence": 340}, "chain": [DER, DER[:2]]}
    fields = {**body, **over}
    wire = {0: 1, 1: 67, 16: parts(fields["renewal"]), 17: fields["chain"]}
    return wire, as_json({"kind": "certificate", **fields})
