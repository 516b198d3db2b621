import { describe, expect, it } from "vitest";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import { SimulatedCushion } from "../../scripts/simulated-cushions/cushion.ts";
import { randomFrom } from "../../scripts/simulated-cushions/random.ts";
import { noTruth } from "../../scripts/simulated-cushions/truth.ts";
import { unitHealth } from "../../server/domain/condition/unit-health.ts";
import { unitSerial } from "../../server/domain/ids.ts";
import { lossOf, lostMinutes } from "../../server/domain/link/loss.ts";
import type { SequenceHole } from "../../server/domain/record/unit-record.ts";
import { exactShare } from "../../server/domain/statistics/exact-share.ts";
import { instant, millisecondsIn } from "../../server/domain/units.ts";
import { electronicsSentence } from "../../views/bench/electronics-words.ts";
import reference from "../reference/clopper-pearson.json" with { type: "json" };
import { soundCushion, start, steadyPerson, zone } from "../simulated-cushions/cast.ts";
import { testServices } from "../support/cast.ts";

const { hour, second } = millisecondsIn;
const day = 24 * hour;

/** A cushion that reports each hour, over a way that takes up to 3 s, and whose clock the receipts set. */
async function linkOf(partsPerMillion: number, days: number, seed: string) {
  const spec = { ...soundCushion, clockDriftPartsPerMillion: partsPerMillion };
  const situation = { person: steadyPerson, personSeed: seed, zone };
  const cushion = new SimulatedCushion(spec, situation, seed, start, noTruth);
  const random = randomFrom(`${seed}/way`);
  const services = testServices({ empty: true });
  let sent = 0;
  for (let at = start; at <= start + days * day; at += hour) {
    const fresh = cushion.advance(at).slice(sent);
    sent += fresh.length;
    const receivedAt = instant(at + Math.round(random.uniform(0, 3 * second)));
    await services.telemetry.append(
      fresh.map((message) => ({
        unit: unitSerial(message.unit),
        topic: uplinkTopic(message.unit, message.kind),
        receivedAt,
        payload: encodeUplink(message),
      })),
    );
    cushion.receive(
      { kind: "receipt", stored: [], serverUnixSeconds: Math.floor(receivedAt / 1_000) },
      receivedAt,
    );
  }
  const over = { start: instant(start), end: instant(start + days * day) };
  const record = await services.telemetry.read(unitSerial(spec.serial), over);
  const { link } = unitHealth(record, over, [], over.end);
  services.close();
  return link;
}

describe("how well a unit keeps time", () => {
  // Truth: a crystal that is off by one part in a million is off by 0.0864 s a day.
  it.each([
    [60, "fast"],
    [-35, "slow"],
    [4, "nearly right"],
  ])("is told in seconds a day with an interval that covers the truth: %d ppm, %s", async (ppm, words) => {
    const link = await linkOf(ppm, 12, `clock/${ppm}`);
    const truth = 0.0864 * ppm;
    const { low, high } = link.clock?.secondsPerDay ?? { low: 99, high: 99 };
    expect(low).toBeLessThan(truth);
    expect(high).toBeGreaterThan(truth);
    expect(high - low).toBeLessThan(1.6);
    expect(electronicsSentence(link)).toMatch(
      words === "nearly right" ? /keeps time|fast by 0\.\d/ : new RegExp(`runs ${words} by`),
    );
  });

  it("isn’t known of a unit that was in touch for five days", async () => {
    const link = await linkOf(60, 5, "clock/short");
    expect(link.clock).toBeNull();
    expect(electronicsSentence(link)).toContain("takes seven days in touch");
  });
});

describe("what is lost for good", () => {
  // Source: NIST/SEMATECH e-Handbook 7.2.4.1 (4 of 20 at 90 %, as printed), the rest by R's binom.test.
  it("has the exact interval of the handbook, and of R", () => {
    const printed = exactShare(4, 20, 0.9);
    expect(printed.low).toBeCloseTo(0.071354, 5);
    expect(printed.high).toBeCloseTo(0.401029, 5);
    for (const { x, n, lower, upper } of reference.computed) {
      const interval = exactShare(x, n, reference.level);
      expect(interval.low).toBeCloseTo(lower, 9);
      expect(interval.high).toBeCloseTo(upper, 9);
    }
  });

  const hole = (after: number, before: number, fate: "lost" | "awaited"): SequenceHole => ({
    boot: 1,
    fromSequence: 10,
    toSequence: 19,
    after: instant(after),
    before: instant(before),
    fate,
  });

  it("is counted on the days it lies on, and what may still come is not lost", () => {
    const holes = [hole(day - hour, day + 2 * hour, "lost"), hole(3 * day, 3 * day + hour, "awaited")];
    const days = [0, 1, 2, 3].map((index) => ({
      recordedMinutes: 1_000,
      lostMinutes: lostMinutes(holes, { start: instant(index * day), end: instant((index + 1) * day) }),
    }));
    expect(days.map((each) => each.lostMinutes)).toEqual([60, 120, 0, 0]);
    const loss = lossOf(holes, days);
    expect(loss).toMatchObject({ messages: 10, lossDays: 2, days: 4 });
    expect(loss.share).toBeCloseTo(180 / 4_180, 12);
  });
});
