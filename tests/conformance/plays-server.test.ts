import { expect, it } from "vitest";
import type { DownlinkMessage } from "../../firmware-protocol/src/downlink.ts";
import { playServer } from "../../scripts/conformance/as-server/play-server.ts";
import type { Ruling } from "../../scripts/conformance/findings.ts";
import { exitCodeOf, rulingLines } from "../../scripts/conformance/print-rulings.ts";
import { SimulatedCushion } from "../../scripts/simulated-cushions/cushion.ts";
import { Delivery } from "../../scripts/simulated-cushions/delivery.ts";
import { type LivingCushion, livingCushion } from "./living-cushion.ts";

const unit = "CU-000777";

async function rulingsOf(cushion: LivingCushion, patienceSeconds: number): Promise<readonly Ruling[]> {
  const rulings = await playServer({
    unit,
    host: "127.0.0.1",
    mqttPort: 0,
    enrolPort: 0,
    now: cushion.now,
    patienceSeconds,
    // The cushion answers within a tenth of a second.
    pauseFactor: 0.25,
    forget: true,
    say: () => undefined,
    ready: (enrolAt) => cushion.begin(enrolAt),
  });
  await cushion.stop();
  return rulings;
}
const notHeld = (rulings: readonly Ruling[]) =>
  rulings.filter(({ verdict }) => verdict === "broken" || verdict === "not-as-advised");
const verdictOf = (rulings: readonly Ruling[], clause: string) =>
  rulings.find((ruling) => ruling.clause === clause)?.verdict;

/** [FP-6.5] broken: what was acknowledged is gone. */
class ForgetsOnPuback extends Delivery {
  override async deliver(at: number, patienceSeconds: number) {
    const report = await super.deliver(at, patienceSeconds);
    const all = [{ boot: 1, through: 0xffff_ffff, holes: [] }];
    if (report.sent > 0) this.cushion.store.forget({ kind: "receipt", stored: all, serverUnixSeconds: 0 });
    return report;
  }
}

/** [FP-11.2] broken: each delivery is carried out. */
class ObeysTwice extends SimulatedCushion {
  #before: string | null = null;
  override receive(message: DownlinkMessage, at: number, request: Uint8Array | null = null) {
    super.receive(message, at, request);
    if (message.kind !== "command" || message.action !== "self-test") return;
    const test = this.store.messages.find((each) => each.kind === "self-test");
    if (test && this.#before === message.id) {
      const [sequence, uptimeSeconds] = [test.sequence + 50_000, test.uptimeSeconds + 1_000_000];
      this.store.keep({ ...test, sequence, uptimeSeconds });
    }
    this.#before = message.id;
  }
}

it.concurrent("a simulated cushion keeps every clause that a server can see", async () => {
  const rulings = await rulingsOf(livingCushion(unit), 12);
  expect(notHeld(rulings)).toEqual([]);
  expect(exitCodeOf(rulings)).toBe(0);
  const seen = [
    "FP-2.3",
    "FP-6.5",
    "FP-6.7",
    "FP-7.3",
    "FP-11.2",
    "FP-11.8",
    "FP-12.5",
    "FP-12.7",
    "FP-13.5",
  ];
  for (const clause of seen) expect([clause, verdictOf(rulings, clause)]).toEqual([clause, "holds"]);
  expect(rulings.filter(({ because }) => because.startsWith("the run ended"))).toEqual([]);
  expect(rulingLines(rulings).at(-1)).toMatch(/^\d+ clauses: \d+ holds, 0 DOES NOT HOLD/);
}, 120_000);

it.concurrent("a unit that forgets on the PUBACK is found out, by the clause that it breaks", async () => {
  const rulings = await rulingsOf(livingCushion(unit, { Post: ForgetsOnPuback }), 2);
  expect(verdictOf(rulings, "FP-6.5")).toBe("broken");
  expect(exitCodeOf(rulings)).toBe(1);
}, 120_000);

it.concurrent("a unit that does a command as often as it comes is found out, and keeps all else", async () => {
  const rulings = await rulingsOf(livingCushion(unit, { Cushion: ObeysTwice }), 12);
  expect(notHeld(rulings).map(({ clause }) => clause)).toEqual(["FP-11.2"]);
  expect(exitCodeOf(rulings)).toBe(1);
}, 120_000);
