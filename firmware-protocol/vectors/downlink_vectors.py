"""Section 7 of SPEC.md: the messages to a unit."""
from book import accept, edges, reject, texts
from messages import ACTIONS, COUNT, DER, RELIEFS, certificate, command, plan, receipt


def entry(boot=1, through=100, holes=()):
    return {"boot": boot, "through": through, "holes": [list(hole) for hole in holes]}


def receipt_fields():
    accept("nothing stored yet", "FP-7.1", receipt(stored=[]))
    accept("eight boots", "FP-7.1", receipt(stored=[entry(boot) for boot in range(8)]))
    reject("nine boots", "FP-7.1", "stored", receipt(stored=[entry(boot) for boot in range(9)]))
    reject("boots out of order", "FP-7.1", "stored", receipt(stored=[entry(2), entry(1)]))
    reject("a boot twice", "FP-7.1", "stored", receipt(stored=[entry(2), entry(2)]))
    accept("the largest boot and sequence", "FP-7.2", receipt(stored=[entry(COUNT, COUNT)]))
    reject("a boot without its holes", "FP-7.2", "stored", receipt(stored=[[1, 100]]))
    reject("through above 32 bits", "FP-7.2", "stored.through", receipt(stored=[entry(1, COUNT + 1)]))
    accept("32 holes", "FP-7.3", receipt(stored=[entry(1, 100, [(3 * at, 3 * at + 1) for at in range(32)])]))
    accept("a hole at 0 and a hole just before the end", "FP-7.3", receipt(stored=[entry(1, 9, [(0, 0), (2, 8)])]))
    for name, holes in (
        ("33 holes", [(3 * at, 3 * at + 1) for at in range(33)]),
        ("holes that overlap", [(1, 5), (5, 6)]),
        ("holes that touch", [(1, 5), (6, 7)]),
        ("holes out of order", [(8, 9), (1, 2)]),
        ("a hole that runs backwards", [(5, 4)]),
        ("a hole that reaches the end", [(99, 100)]),
        ("a hole of one edge", [(5,)]),
    ):
        reject(name, "FP-7.3", "stored.holes", receipt(stored=[entry(1, 100, holes)]))
    for value in (0, COUNT):
        accept(f"serverUnixSeconds {value}", "FP-7.4", receipt(serverUnixSeconds=value))
    reject("serverUnixSeconds above 32 bits", "FP-7.4", "serverUnixSeconds", receipt(), {17: COUNT + 1})


def plan_fields():
    for value in (0, COUNT):
        accept(f"plan version {value}", "FP-7.5", plan(version=value))
    reject("plan version above 32 bits", "FP-7.5", "plan version", plan(), {16: COUNT + 1})
    edges("FP-7.6", "intervalMinutes", plan, 17, 1, 1440)
    edges("FP-7.6", "holdSeconds", plan, 18, 1, 3600)
    accept("one kind", "FP-7.7", plan(kinds=["tilt"]))
    accept("every kind, in any order", "FP-7.7", plan(kinds=RELIEFS[::-1]))
    reject("no kind", "FP-7.7", "kinds", plan(kinds=[]))
    reject("a kind twice", "FP-7.7", "kinds", plan(kinds=["tilt", "tilt"]))
    reject("kind 5", "FP-7.7", "kinds", plan(), {19: [5]})


def command_fields():
    texts("FP-7.10", "id", command, 16)
    edges("FP-7.11", "expiresUnixSeconds", command, 17, 0, COUNT)
    for action in ACTIONS:
        version = {"planVersion": 4} if action == "plan" else {}
        accept(f"command {action}", "FP-7.12", command(action=action, **version))
    reject("command 7", "FP-7.12", "action", command(), {18: 7})
    plan_command = command(action="plan", planVersion=4)
    for value in (0, COUNT):
        accept(f"command for plan {value}", "FP-7.13", command(action="plan", planVersion=value))
    reject("a command for no plan", "FP-7.13", "planVersion", plan_command, without=[19])
    reject("a plan with another command", "FP-7.13", "planVersion", command(), {19: 4})
    reject("a command for a plan above 32 bits", "FP-7.13", "planVersion", plan_command, {19: COUNT + 1})
    reject("a command for plan null", "FP-3.10", "planVersion", plan_command, {19: None})


def certificate_fields():
    for value in (0, COUNT):
        accept(f"an answer to renewal {value}", "FP-7.14", certificate(renewal={"boot": value, "sequence": value}))
    reject("an answer to a boot alone", "FP-7.14", "renewal", certificate(), {16: [12]})
    reject("an answer above 32 bits", "FP-7.14", "renewal.boot", certificate(), {16: [COUNT + 1, 340]})
    accept("one certificate of one byte", "FP-7.15", certificate(chain=[DER[:1]]))
    accept("a certificate of 2 048 bytes", "FP-7.15", certificate(chain=[bytes(2048)]))
    accept("four certificates", "FP-7.15", certificate(chain=[DER] * 4))
    reject("no certificate", "FP-7.15", "chain", certificate(), {17: []})
    reject("five certificates", "FP-7.15", "chain", certificate(), {17: [DER] * 5})
    reject("a certificate of no byte", "FP-7.15", "chain", certificate(), {17: [DER, b""]})
    reject("a certificate of 2 049 bytes", "FP-7.15", "chain", certificate(), {17: [bytes(2049)]})
    reject("a certificate as text", "FP-3.10", "chain", certificate(), {17: ["MIIB"]})
