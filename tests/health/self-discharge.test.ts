import { describe, expect, it } from "vitest";
import { chargeDeviation } from "../../server/domain/battery/open-circuit-voltage.ts";
import type { PowerRun } from "../../server/domain/battery/power-runs.ts";
import { selfDischarge } from "../../server/domain/battery/self-discharge.ts";
import { findingsOf } from "../../server/domain/condition/findings/findings-of.ts";
import type { RecordedBoot, ResetReason, SequenceHole } from "../../server/domain/record/unit-record.ts";
import { instant } from "../../server/domain/units.ts";
import { selfDischargeSentence } from "../../views/bench/electronics-words.ts";
import { live, start, steadyHabits, steadyPerson } from "../simulated-cushions/cast.ts";
import { healthOf } from "./recorded.ts";

const hour = 3_600_000;
const day = 24 * hour;

describe("what a switched-off unit loses, seen through the wire", () => {
  const away = {
    ...steadyPerson,
    habits: { ...steadyHabits, charging: { atBedtime: 0, daytime: [] } },
    absences: [
      {
        from: start + 2 * day,
        until: start + 14 * day,
        why: "hospital" as const,
        switchedOffAfterMinutes: 30,
      },
    ],
  };
  const unitAfter = (sharePerDay: number | null, seed: string) =>
    healthOf(
      live({
        days: 16,
        person: away,
        seed,
        spec: {
          battery: { ratedMilliampHours: 1_200, health: 1, charge: 0.95 },
          faults: sharePerDay === null ? [] : [{ kind: "leaky-cell", from: start, sharePerDay }],
        },
      }),
      start,
      16,
    );
  // What the simulated electronics draw when off (scripts/simulated-cushions/battery.ts): 0.05 mA of 1,200 mAh.
  const sleeping = (0.05 * 24 * 30) / 1_200;

  it.each(["off-a", "off-b"])(
    "covers the truth of a sound one, which is no finding (seed %s)",
    async (seed) => {
      const health = await unitAfter(null, seed);
      const { perMonth, times } = health.battery?.selfDischarge ?? {};
      expect(times).toHaveLength(1);
      expect(perMonth?.low).toBeLessThan(sleeping);
      expect(perMonth?.high).toBeGreaterThan(sleeping);
      expect(perMonth?.high).toBeLessThan(0.08);
      expect(findingsOf(health).found.map(({ kind }) => kind)).not.toContain("self-discharge");
    },
  );

  it("covers the truth of a leaky cell, which is a finding that names its settling test", async () => {
    const health = await unitAfter(0.005, "off-leaky");
    const truth = sleeping + 30 * 0.005;
    const { perMonth } = health.battery?.selfDischarge ?? {};
    expect(perMonth?.low).toBeLessThan(truth);
    expect(perMonth?.high).toBeGreaterThan(truth);
    const found = findingsOf(health).found.find(({ kind }) => kind === "self-discharge");
    expect(found?.level).toBe("act-soon");
    expect(found?.settledBy).toMatch(/rest 14 days/);
  });

  it("is not seen of a unit that was never off, and no finding is taken back for it", async () => {
    const health = await healthOf(live({ days: 8, seed: "never off" }), start, 8);
    if (!health.battery) throw new Error("no battery");
    expect(health.battery.selfDischarge).toBeNull();
    expect(selfDischargeSentence(health.battery)).toContain("not seen");
    expect(findingsOf(health).judged.has("self-discharge")).toBe(false);
  });
});

describe("a time off", () => {
  const run = (from: number, until: number, cell: number, charging = false): PowerRun => ({
    charging,
    first: instant(from),
    last: instant(until),
    minutes: (until - from) / 60_000,
    loaded: 0,
    searching: 0,
    head: [cell],
    tail: [cell],
    full: false,
    endsFull: false,
  });
  const boot = (at: number, reset: ResetReason = "user-off"): RecordedBoot => ({
    at: instant(at),
    receivedAt: instant(at),
    boot: 2,
    reset,
    firmware: "1.0.0",
    hardware: "A",
    clockSet: true,
    rows: 8,
    columns: 8,
    queued: 0,
  });
  const off = [run(0, day, 3_841), run(11 * day, 12 * day, 3_751)];
  const on = [boot(11 * day - 30_000)];

  // By hand from Chen et al. 2020 (rested 3.841 V at 60 %, 3.751 V at 50 %): 10 % in ten days is 30 % a month.
  it("of ten days between 3.841 and 3.751 V is 30 % a month", () => {
    expect(selfDischarge(off, on, [], 0)?.perMonth.best).toBeCloseTo(0.3, 9);
  });

  it("weighs by its doubt: where the curve is flat a reading says little", () => {
    const flat = [run(20 * day, 21 * day, 4_090), run(31 * day, 32 * day, 4_090)];
    const both = selfDischarge([...off, ...flat], [...on, boot(31 * day - 30_000)], [], 0);
    const doubt = (charge: number) => chargeDeviation(charge, 1) ** 2;
    const [here, there] = [1 / (doubt(0.6) + doubt(0.5)), 1 / (2 * doubt(0.878_125))];
    expect(both?.times).toHaveLength(2);
    expect(both?.perMonth.best).toBeCloseTo((0.3 * here) / (here + there), 2);
    expect(both?.perMonth.best).toBeGreaterThan(0.15);
  });

  const hole: SequenceHole = {
    boot: 1,
    fromSequence: 90,
    toSequence: 99,
    after: instant(day),
    before: null,
    endsAbout: instant(2 * day),
    fate: "lost",
  };
  it.each([
    ["with a charge before it is read too early", [run(0, hour, 3_841), off[1]], on, []],
    ["that somebody charged it in has risen", [run(0, day, 3_751), run(11 * day, 12 * day, 3_841)], on, []],
    ["of two days is too short", [off[0], run(3 * day, 4 * day, 3_751)], [boot(3 * day - 30_000)], []],
    ["after which it was cut off is the battery's", off, [boot(11 * day - 30_000, "brown-out")], []],
    ["that no start ended was a silence only", off, [], []],
    ["with records missing was not off from its start", off, on, [hole]],
    [
      "that ended an hour ago may still have records to come",
      [off[0], run(11 * day, 11 * day + hour, 3_751)],
      on,
      [],
    ],
  ])("%s", (_, runs, boots, holes) => {
    expect(
      selfDischarge(
        runs.flatMap((each) => each ?? []),
        boots,
        holes,
        0,
      ),
    ).toBeNull();
  });
});
