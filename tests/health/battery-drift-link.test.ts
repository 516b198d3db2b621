import { describe, expect, it } from "vitest";
import { findingsOf } from "../../server/domain/condition/findings/findings-of.ts";
import { live, soundCushion, start, steadyHabits, steadyPerson } from "../simulated-cushions/cast.ts";
import { healthOf, healthOfMessages } from "./recorded.ts";

const day = 86_400_000;
const rare = { ...steadyPerson, habits: { ...steadyHabits, charging: { atBedtime: 0.55, daytime: [] } } };

describe("the battery", () => {
  it("that lasts 60 % of what it did is found, told in hours, since it does", async () => {
    // Two cells of one make, one worn: the record of the second goes on where the first one's ended.

    const often = {
      ...steadyPerson,
      habits: { ...steadyHabits, charging: { atBedtime: 0.75, daytime: [] } },
    };
    const fresh = live({ days: 14, person: often, seed: "fade" });
    const worn = live({
      days: 28,
      person: often,
      seed: "fade",
      spec: { battery: { ...soundCushion.battery, health: 0.58 } },
    });
    const change = (start + 14 * day) / 1_000;
    const messages = [
      ...fresh.cushion.store.messages.filter(({ wallSeconds }) => (wallSeconds ?? 0) < change),
      ...worn.cushion.store.messages.filter(({ wallSeconds }) => (wallSeconds ?? 0) >= change),
    ].map((message, sequence) => ({ ...message, sequence }));
    const health = await healthOfMessages(messages, start, 28);
    const fade = findingsOf(health).found.find(({ kind }) => kind === "capacity-fade");
    expect(fade?.probability).toBeGreaterThan(0.8);
    expect(fade?.since).toBeGreaterThan(start + 13 * day);
    const kept = health.battery?.endurance?.kept;
    expect(kept?.low).toBeLessThan(0.62);
    expect(kept?.high).toBeGreaterThan(0.58);
  });

  it("that lasts as long as ever is not, and its charges are counted", async () => {
    const health = await healthOf(live({ days: 28, person: rare, seed: "steady battery" }), start, 28);
    expect(findingsOf(health).found.map(({ kind }) => kind)).not.toContain("capacity-fade");
    const { history, endurance } = health.battery ?? {};
    expect(history?.sessions.length).toBeGreaterThan(5);
    expect(history?.sessions.length).toBeLessThan(28);
    expect(endurance?.kept.low).toBeLessThan(1);
    expect(endurance?.kept.high).toBeGreaterThan(1);
  });

  it("that is never charged is found flat once, when it was", async () => {
    const never = { ...steadyPerson, habits: { ...steadyHabits, charging: { atBedtime: 0, daytime: [] } } };
    const lived = live({ days: 9, person: never, seed: "flat" });
    const truth = lived.truth.events.find(({ what }) => what === "ran-flat");
    const found = findingsOf(await healthOf(lived, start, 9)).found.find(
      ({ kind }) => kind === "flat-battery",
    );
    expect(found).toBeDefined();
    expect(Math.abs((found?.since ?? 0) - (truth?.at ?? 0))).toBeLessThan(5 * 60_000);
  });
});

describe("the empty reading", () => {
  it.each(["a", "b", "c"])(
    "that creeps by 2 % of span a month is found within three weeks (seed %s)",
    async (seed) => {
      // The rear 40 % of the cells creep; the whole grid's mean then moves 0.4 times as fast.
      const countsPerDay = (0.02 * 255) / 30 / 0.4;
      const from = start + 8 * day;
      const lived = live({
        days: 28,
        seed: `drift/${seed}`,
        spec: { faults: [{ kind: "zero-drift", from, countsPerDay, upTo: 99 }] },
      });
      const found = findingsOf(await healthOf(lived, start, 28)).found.find(
        ({ kind }) => kind === "zero-drift",
      );
      expect(found?.since).toBeGreaterThan(from);
      expect(found?.since).toBeLessThan(from + 21 * day);
      expect(found?.probability).toBeGreaterThan(0.5);
    },
  );

  it.each(["a", "b", "c", "d", "e"])("that stays is left alone (seed %s)", async (seed) => {
    const health = await healthOf(live({ days: 28, seed: `still/${seed}` }), start, 28);
    expect(health.drift?.kind).toBe("charted");
    expect(findingsOf(health).found).toEqual([]);
  });

  it("is not said to drift because one cell is stuck", async () => {
    const fault = { kind: "cell-stuck", from: start + 9 * day, row: 7, column: 6, counts: 220 } as const;
    const health = await healthOf(live({ days: 20, spec: { faults: [fault] } }), start, 20);
    expect(findingsOf(health).found.map(({ kind }) => kind)).toEqual(["cell-stuck"]);
  });
});

describe("the link", () => {
  it("counts what was recorded without a relay, day by day, and says nothing of a single bad day", async () => {
    const outage = { what: "relay", from: start + 2 * day, until: start + 2.5 * day } as const;
    const lived = live({ days: 10, spec: { radio: { ...soundCushion.radio, outages: [outage] } } });
    const { link } = await healthOf(lived, start, 10);
    expect(Math.abs(link.minutesWithoutRelay - 720)).toBeLessThan(20);
    expect(link.days.reduce((sum, each) => sum + each.minutesWithoutRelay, 0)).toBe(link.minutesWithoutRelay);
    expect(link.days.reduce((sum, each) => sum + each.recordedMinutes, 0)).toBe(link.recordedMinutes);
  });

  it("that is missing for a third of the time is a finding, since it began", async () => {
    const outage = { what: "relay", from: start + 3 * day, until: start + 7 * day } as const;
    const lived = live({ days: 10, spec: { radio: { ...soundCushion.radio, outages: [outage] } } });
    const found = findingsOf(await healthOf(lived, start, 10)).found.find(({ kind }) => kind === "weak-link");
    expect(Math.abs((found?.since ?? 0) - outage.from)).toBeLessThan(1.1 * day);
  });
});
