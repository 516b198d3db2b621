"""Section 5 of SPEC.md, from power on: what happened to the unit, and the entries that may be left out."""
from book import accept, edges, reject, texts
from messages import (
    BREAK_OFFS,
    COUNT,
    DER,
    NOTICES,
    POWER_EVENTS,
    REFUSAL_REASONS,
    RELAY_LINKS,
    RESULT_STATES,
    STEP,
    hello,
    minute,
    minutes,
    notice,
    power,
    prompt,
    relay,
    relief,
    renewal,
    result,
    self_test,
)


def told_later(clause, field, build, key):
    """A time within the message that may not lie after the message."""
    name = build.__name__
    accept(f"{name}: {field} as it is written", clause, build(**{field: 86400}))
    accept(f"{name}: {field} 0", clause, build(**{field: 0}))
    reject(f"{name}: {field} after the message", clause, field, build(), {key: 86401})
    reject(f"{name}: {field} above 32 bits", clause, field, build(), {key: COUNT + 1})
    reject(f"{name}: {field} missing", "FP-4.8", field, build(), without=[key])


def power_fields():
    for event in POWER_EVENTS:
        ended = {"ended": "full"} if event == "charge-end" else {}
        step = {"step": STEP} if event == "voltage-step" else {}
        accept(f"power {event}", "FP-5.33", power(event=event, **ended, **step))
    reject("power 6", "FP-5.33", "event", power(), {16: 6})
    told_later("FP-5.34", "atUptimeSeconds", power, 17)
    edges("FP-5.35", "cellMillivolts", power, 18, 0, 6000)
    edges("FP-5.35", "temperatureDecicelsius", power, 19, -400, 1250)
    full = power(event="charge-end", ended="full")
    accept("a charge that was full", "FP-5.36", full)
    accept("a charge that was interrupted", "FP-5.36", power(event="charge-end", ended="interrupted"))
    reject("a charge's end that does not say how", "FP-5.36", "ended", full, without=[20])
    reject("a charge's end with a cut-off", "FP-5.36", "ended", power(event="cut-off"), {20: 0})
    reject("charge end 2", "FP-5.36", "ended", full, {20: 2})
    reject("charge end null", "FP-3.10", "ended", full, {20: None})
    step = power(event="voltage-step", step=STEP)
    for rest, load, burst in ((0, 0, 1), (6000, 6000, 5000)):
        values = {"restMillivolts": rest, "loadMillivolts": load, "burstMilliamperes": burst}
        accept(f"a step from {rest} to {load} at {burst}", "FP-5.37", power(event="voltage-step", step=values))
    accept("a step beside another event", "FP-5.37", power(step=STEP))
    reject("a voltage-step without its step", "FP-5.37", "step", step, without=[21])
    reject("a step without its current", "FP-5.37", "step", step, {21: [3871, 3829]})
    reject("a step of four numbers", "FP-5.37", "step", step, {21: [3871, 3829, 240, 1]})
    reject("a step from above 6 V", "FP-5.37", "step.restMillivolts", step, {21: [6001, 3829, 240]})
    reject("a step to below 0 V", "FP-5.37", "step.loadMillivolts", step, {21: [3871, -1, 240]})
    reject("a step without current", "FP-5.37", "step.burstMilliamperes", step, {21: [3871, 3829, 0]})
    reject("a step of more than 5 A", "FP-5.37", "step.burstMilliamperes", step, {21: [3871, 3829, 5001]})
    reject("a step as a number", "FP-3.10", "step", step, {21: 42})
    reject("a step as null", "FP-3.10", "step", power(), {21: None})


def relay_fields():
    texts("FP-5.38", "relay", relay, 16)
    told_later("FP-5.39", "heardUptimeSeconds", relay, 17)
    for value in (None, 0, COUNT):
        accept(f"relayUptimeSeconds {value}", "FP-5.40", relay(relayUptimeSeconds=value))
    reject("relayUptimeSeconds above 32 bits", "FP-5.40", "relayUptimeSeconds", relay(), {18: COUNT + 1})
    reject("relayUptimeSeconds missing", "FP-4.8", "relayUptimeSeconds", relay(), without=[18])
    for link in RELAY_LINKS:
        accept(f"relay link {link}", "FP-5.41", relay(link=link))
    reject("relay link 3", "FP-5.41", "link", relay(), {19: 3})
    edges("FP-5.42", "signalDecibelMilliwatts", relay, 20, -140, 0)


def self_test_fields():
    told_later("FP-5.43", "atUptimeSeconds", self_test, 16)
    edges("FP-5.44", "rows", self_test, 18, 2, 64, columns=64, cellsTested=2, failedCells=[37, 101])
    edges("FP-5.44", "columns", self_test, 19, 2, 64, rows=64, cellsTested=2, failedCells=[37, 101], failedColumns=[1])
    clean = {"cellsFailed": 0, "failedCells": [], "failedColumns": []}
    accept("a self-test of no cell", "FP-5.44", self_test(cellsTested=0, **clean))
    accept("a self-test of every cell", "FP-5.44", self_test(rows=64, columns=64, cellsTested=4096, **clean))
    reject("a self-test of more cells than there are", "FP-5.44", "cellsTested", self_test(), {20: 257})
    reject("a self-test of 4097 cells", "FP-5.44", "cellsTested", self_test(), {20: 4097})
    whole = {"rows": 64, "columns": 64, "cellsTested": 4096}
    first = list(range(256))
    accept("256 failed cells", "FP-5.45", self_test(**whole, cellsFailed=256, failedCells=first))
    accept("every cell failed, the first 256 listed", "FP-5.45", self_test(**whole, cellsFailed=4096, failedCells=first))
    accept("the last cell failed", "FP-5.45", self_test(cellsFailed=1, failedCells=[255]))
    for name, change in (
        ("257 failed cells listed", {18: 64, 19: 64, 20: 4096, 21: 257, 22: list(range(257))}),
        ("fewer failed cells than there are", {21: 3}),
        ("more failed cells than there are", {21: 1}),
        ("failed cells out of order", {22: [201, 37]}),
        ("a failed cell twice", {22: [37, 37]}),
        ("a failed cell outside the grid", {22: [37, 256]}),
        ("a failed cell below 0", {22: [-1, 37]}),
    ):
        reject(name, "FP-5.45", "failedCells", self_test(), change)
    reject("more cells failed than were tested", "FP-5.45", "cellsFailed", self_test(), {20: 1})
    reject("cellsFailed above 4096", "FP-5.45", "cellsFailed", self_test(), {21: 4097})
    reject("failed cells as bytes", "FP-3.10", "failedCells", self_test(), {22: b"\x25\xc9"})
    for field, key in (("failedRows", 23), ("failedColumns", 24)):
        accept(f"every one in {field}", "FP-5.46", self_test(**{field: list(range(16))}))
        accept(f"none in {field}", "FP-5.46", self_test(**{field: []}))
        reject(f"{field} out of order", "FP-5.46", field, self_test(), {key: [4, 3]})
        reject(f"{field} twice", "FP-5.46", field, self_test(), {key: [4, 4]})
        reject(f"{field} outside the grid", "FP-5.46", field, self_test(), {key: [16]})
        reject(f"{field} above 63", "FP-5.46", field, self_test(), {key: [64]})
        reject(f"{field} missing", "FP-4.8", field, self_test(), without=[key])
    accept("a self-test that passed", "FP-5.47", self_test(passed=True, **clean))
    accept("a self-test that failed in no cell", "FP-5.47", self_test(**clean))
    reject("passed with a failed cell", "FP-5.47", "passed", self_test(failedColumns=[]), {17: True})
    reject("passed with a failed line", "FP-5.47", "passed", self_test(cellsFailed=0, failedCells=[]), {17: True})
    reject("passed 1", "FP-5.47", "passed", self_test(), {17: 1})
    texts("FP-5.48", "command", self_test, 25)


def prompt_fields():
    told_later("FP-5.49", "givenUptimeSeconds", prompt, 16)
    edges("FP-5.50", "planVersion", prompt, 17, 0, COUNT)
    for value in (None, 0, 339):
        accept(f"followedBySequence {value}", "FP-5.51", prompt(followedBySequence=value))
    reject("followed by itself", "FP-5.51", "followedBySequence", prompt(), {18: 340})
    reject("followedBySequence above 32 bits", "FP-5.51", "followedBySequence", prompt(), {18: COUNT + 1})
    reject("followedBySequence missing", "FP-4.8", "followedBySequence", prompt(), without=[18])


def notice_fields():
    for name in NOTICES:
        accept(f"notice {name}", "FP-5.52", notice(notice=name))
    reject("notice 1", "FP-5.52", "notice", notice(), {16: 1})
    edges("FP-5.53", "dueUnixSeconds", notice, 17, 0, COUNT)


def result_fields():
    texts("FP-5.54", "command", result, 16)
    for state in RESULT_STATES:
        reason = "busy" if state == "refused" else None
        accept(f"result {state}", "FP-5.55", result(state=state, reason=reason))
    reject("result 4", "FP-5.55", "state", result(), {17: 4})
    for reason in REFUSAL_REASONS:
        accept(f"refused: {reason}", "FP-5.56", result(reason=reason))
    reject("refused without a reason", "FP-5.56", "reason", result(), {18: None})
    reject("done with a reason", "FP-5.56", "reason", result(), {17: 1})
    reject("reason 6", "FP-5.56", "reason", result(), {18: 6})
    texts("FP-5.57", "detail", result, 20)
    told_later("FP-5.58", "atUptimeSeconds", result, 19)


def renewal_fields():
    accept("a request of one byte", "FP-5.59", renewal(request=DER[:1]))
    accept("a request of 2 048 bytes", "FP-5.59", renewal(request=bytes(2048)))
    reject("a request of no byte", "FP-5.59", "request", renewal(), {16: b""})
    reject("a request of 2 049 bytes", "FP-5.59", "request", renewal(), {16: bytes(2049)})
    reject("a request as text", "FP-3.10", "request", renewal(), {16: "MIIB"})
    texts("FP-5.60", "command", renewal, 17)


def optional_fields():
    for boot, sequence in ((0, COUNT), (12, 0), (12, 340)):
        accept(f"oldest unsent {boot}, {sequence}", "FP-5.61", hello(oldestUnsent={"boot": boot, "sequence": sequence}))
    for name, value in (("of a later boot", [13, 0]), ("written later", [12, 341]), ("without its sequence", [12])):
        reject(f"oldest unsent {name}", "FP-5.61", "oldestUnsent", hello(), {23: value})
    reject("oldest unsent above 32 bits", "FP-5.61", "oldestUnsent.sequence", hello(), {23: [11, COUNT + 1]})
    reject("oldest unsent null", "FP-3.10", "oldestUnsent", hello(), {23: None})
    for clause, field, key, low in (
        ("FP-5.62", "storeCapacityMessages", 24, 1),
        ("FP-5.63", "certificateNotAfter", 25, 0),
    ):
        for value in (low, COUNT):
            accept(f"{field} {value}", clause, hello(**{field: value}))
        for value in (low - 1, COUNT + 1):
            reject(f"{field} {value}", clause, field, hello(), {key: value})
        reject(f"{field} null", "FP-3.10", field, hello(), {key: None})
    texts("FP-5.64", "relay", hello, 26)
    swing = [minute(humidityPercent=value) for value in (0, 100, 0)]
    humid = minutes(minutes=swing)
    accept("humidity from lowest to highest and back", "FP-5.65", humid)
    for name, values in (("too low", [-1, 1, 0]), ("too high", [101, 0, 0]), ("stepping too high", [100, 1, 0])):
        reject(f"humidity {name}", "FP-5.65", "humidityPercent", humid, {24: values})
    reject("humidity one entry short", "FP-5.8", "humidityPercent", humid, {24: [0, 100]})
    reject("humidity one entry long", "FP-5.8", "humidityPercent", humid, {24: [0, 0, 0, 0]})
    for reason in BREAK_OFFS:
        accept(f"broken off: {reason}", "FP-5.66", relief(complete=False, brokenOff=reason))
    reject("broken off, though complete", "FP-5.66", "brokenOff", relief(), {22: 0})
    reject("broken off 5", "FP-5.66", "brokenOff", relief(complete=False), {22: 5})
    for left, right in ((0, 200), (200, 0)):
        accept(f"sides of {left} and {right}", "FP-5.67", relief(sideLoadPercent={"left": left, "right": right}))
    for name, value in (("left", [28]), ("above 200", [28, 201]), ("below 0", [-1, 130]), ("of three", [1, 2, 3])):
        reject(f"sides {name}", "FP-5.67", "sideLoadPercent", relief(), {23: value})
    reject("sides as a number", "FP-3.10", "sideLoadPercent", relief(), {23: 28})
