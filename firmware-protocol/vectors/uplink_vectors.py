"""Section 5 of SPEC.md: the messages from a unit."""
from book import accept, edges, reject
from cbor_writer import half
from messages import COUNT, FAULTS, LOST, RELIEFS, RESETS, fault, frame, hello, minute, minutes, relief


def hello_fields():
    for text in ("x", "x" * 32, "~ 9.0-rc.1 (b)"):
        accept(f"firmware of {len(text)} characters", "FP-5.1", hello(firmware=text))
    for name, text in (("empty", ""), ("of 33 characters", "x" * 33), ("with a line end", "1\n2"), ("not ASCII", "é")):
        reject(f"firmware {name}", "FP-5.1", "firmware", hello(), {16: text})
        reject(f"hardware {name}", "FP-5.1", "hardware", hello(), {17: text})
    for reason in RESETS:
        accept(f"reset {reason}", "FP-5.2", hello(reset=reason))
    reject("reset 6", "FP-5.2", "reset", hello(), {18: 6})
    edges("FP-5.3", "rows", hello, 19, 2, 64)
    edges("FP-5.3", "columns", hello, 20, 2, 64)
    edges("FP-5.4", "pitchMillimetres", hello, 21, 1, 100)
    edges("FP-5.5", "queued", hello, 22, 0, COUNT)


def minutes_fields():
    accept("one minute that still runs", "FP-5.6 FP-5.8", minutes(firstUptimeSeconds=86400, minutes=[minute()]))
    accept("minutes from the start of a boot", "FP-5.6", minutes(firstUptimeSeconds=0))
    reject("a minute after the message", "FP-5.6", "firstUptimeSeconds", minutes(), {16: 86281})
    reject("firstUptimeSeconds above 32 bits", "FP-5.6", "firstUptimeSeconds", minutes(), {16: COUNT + 1})
    whole_day = [minute() for _ in range(1440)]
    accept("a whole day", "FP-5.7", minutes(firstUptimeSeconds=0, minutes=whole_day))
    too_long = minutes(firstUptimeSeconds=0, minutes=whole_day + [minute()])
    reject("a day and a minute", "FP-5.7", "flags", too_long)
    reject("no minute", "FP-5.7", "flags", minutes(minutes=[]))
    for power in ("on-battery", "charging", "charged"):
        for loaded in (False, True):
            for signal in (None, -80):
                record = minute(power=power, loaded=loaded, signalDecibelMilliwatts=signal)
                name = f"{power}, {'loaded' if loaded else 'empty'}, {'no relay' if signal is None else 'relay heard'}"
                accept(name, "FP-5.7", minutes(firstUptimeSeconds=0, minutes=[record]))
    reject("power state 3", "FP-5.7", "flags", minutes(), {17: bytes([9, 7, 10])})
    for bit in (0x10, 0x20, 0x40, 0x80):
        reject(f"flag {bit:#x}", "FP-5.7", "flags", minutes(), {17: bytes([9, 1 | bit, 10])})
    wire, _ = minutes()
    columns = {
        18: ("FP-5.9", "loadHectograms", 0, 5000),
        19: ("FP-5.10", "centreRightPercent", -100, 100),
        20: ("FP-5.10", "centreFrontPercent", -100, 100),
        21: ("FP-5.11", "cellMillivolts", 0, 6000),
        22: ("FP-5.12", "temperatureDecicelsius", -400, 1250),
        23: ("FP-5.13", "signalDecibelMilliwatts", -140, 0),
    }
    for key, (clause, name, low, high) in columns.items():
        reject(f"{name} one entry short", "FP-5.8", name, minutes(), {key: wire[key][:-1]})
        reject(f"{name} one entry long", "FP-5.8", name, minutes(), {key: wire[key] + [0]})
        swing = [minute(**{name: value}) for value in (low, high, low)]
        accept(f"{name} from lowest to highest and back", f"{clause} FP-5.8", minutes(minutes=swing))
        entries = len(wire[key])
        reject(f"{name} begins too low", clause, name, minutes(), {key: [low - 1] + [0] * (entries - 1)})
        reject(f"{name} begins too high", clause, name, minutes(), {key: [high + 1] + [0] * (entries - 1)})
        reject(f"{name} steps too low", clause, name, minutes(), {key: [low, -1] + [0] * (entries - 2)})
        reject(f"{name} steps too high", clause, name, minutes(), {key: [high, 1] + [0] * (entries - 2)})
        reject(f"{name} steps out and back", clause, name, minutes(), {key: [low, 10**9] + [-(10**9)] * (entries - 2)})
        reject(f"{name} step as a float", "FP-3.10", name, minutes(), {key: [low, half(0.0)] + [0] * (entries - 2)})
    silent = [minute(signalDecibelMilliwatts=None) for _ in range(2)]
    accept("no relay in any minute", "FP-5.13", minutes(minutes=silent))


def relief_fields():
    for kind in RELIEFS:
        accept(f"relief {kind}", "FP-5.14", relief(relief=kind))
    reject("relief 5", "FP-5.14", "relief", relief(), {16: 5})
    accept("a relief that begins as it is written", "FP-5.15", relief(startUptimeSeconds=86400))
    reject("a relief after the message", "FP-5.15", "startUptimeSeconds", relief(), {17: 86401})
    edges("FP-5.16", "holdSeconds", relief, 18, 0, 65535)
    edges("FP-5.17", "depthPercent", relief, 19, 0, 100)
    accept("broken off after a prompt", "FP-5.18", relief(complete=False, prompted=True))
    reject("complete missing", "FP-4.8", "complete", relief(), without=[20])
    reject("prompted null", "FP-5.18", "prompted", relief(), {21: None})


def frame_fields():
    accept("a frame taken as it is written", "FP-5.19", frame(takenUptimeSeconds=86400))
    reject("a frame after the message", "FP-5.19", "takenUptimeSeconds", frame(), {16: 86401})
    accept("the smallest grid, empty", "FP-5.20 FP-5.22", frame(loaded=False, rows=2, columns=2, cells=bytes(4)))
    accept("the largest grid", "FP-5.20 FP-5.22", frame(rows=64, columns=64, cells=bytes(at % 256 for at in range(4096))))
    reject("one row", "FP-5.20", "rows", frame(), {18: 1, 19: 6})
    reject("65 columns", "FP-5.20", "columns", frame(), {19: 65, 21: bytes(130)})
    edges("FP-5.21", "temperatureDecicelsius", frame, 20, -400, 1250)
    reject("a cell short", "FP-5.22", "cells", frame(), {21: bytes(5)})
    reject("a cell too many", "FP-5.22", "cells", frame(), {21: bytes(7)})
    reject("no cell", "FP-5.22", "cells", frame(), {21: b""})


def fault_fields():
    for name in FAULTS:
        accept(f"fault {name}", "FP-5.23", fault(fault=name, lost=LOST if name == "store-overrun" else None))
    reject("fault 8", "FP-5.23", "fault", fault(), {16: 8})
    accept("a fault as it is written", "FP-5.24", fault(atUptimeSeconds=86400))
    reject("a fault after the message", "FP-5.24", "atUptimeSeconds", fault(), {17: 86401})
    overrun = fault(fault="store-overrun", lost=LOST, value=None)
    one = {"boot": 0, "fromSequence": COUNT, "toSequence": COUNT}
    accept("a range of messages lost", "FP-5.25", overrun)
    accept("one message lost", "FP-5.25", fault(fault="store-overrun", lost=one, value=None))
    reject("an overrun that does not say what was lost", "FP-5.25", "lost", overrun, {18: None})
    reject("a loss with another fault", "FP-5.25", "lost", fault(), {18: [11, 900, 1203]})
    reject("a loss that runs backwards", "FP-5.25", "lost", overrun, {18: [11, 1203, 900]})
    reject("a loss without its end", "FP-5.25", "lost", overrun, {18: [11, 900]})
    reject("a loss in a boot above 32 bits", "FP-5.25", "lost.boot", overrun, {18: [COUNT + 1, 900, 1203]})
    for value in (None, -(2**31), 2**31 - 1):
        accept(f"value {value}", "FP-5.26", fault(value=value))
    for value in (-(2**31) - 1, 2**31):
        reject(f"value {value}", "FP-5.26", "value", fault(), {19: value})
