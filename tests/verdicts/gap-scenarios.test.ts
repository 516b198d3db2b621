import { describe, expect, test } from "vitest";
import { hours, millivolts } from "../../server/domain/units.ts";
import type { GapContext } from "../../server/domain/verdicts/gap-context.ts";
import { judgeGap } from "../../server/domain/verdicts/judge.ts";
import { at, plainGap, thresholds, zone } from "./plain-contexts.ts";

const flat: Partial<GapContext> = {
  battery: { path: "flat", last: millivolts(3_290), cutOffReported: true },
  comeback: { kind: "restarted", reset: "brown-out" },
  after: "on-charge",
  before: "seated",
  signal: { level: "fine", minutesWithout: 0 },
};

describe("gaps", () => {
  test("three lost Tuesdays: the link was down, and once the backlog is in nothing is missing", () => {
    const during = judgeGap(
      {
        ...plainGap,
        ongoing: true,
        signal: { level: "none", minutesWithout: 25 },
        battery: { path: "plenty", last: millivolts(3_900), cutOffReported: false },
      },
      thresholds,
      zone,
    );
    expect(during.leadingSide).toBe("link");
    const later = judgeGap(
      {
        ...plainGap,
        filledAt: at("2026-11-11T08:05Z"),
        comeback: { kind: "ran-on", fate: "delivered", messages: null },
      },
      thresholds,
      zone,
    );
    expect(later.outcome).toBe("link");
    expect(later.sentence).toContain("nothing is missing");
  });

  test("everyone went quiet: the programme's side, not anybody's own", () => {
    const verdict = judgeGap(
      {
        ...plainGap,
        ongoing: true,
        together: { silent: 15, others: 17, backFor: null },
        battery: { path: "plenty", last: millivolts(3_900), cutOffReported: false },
      },
      thresholds,
      zone,
    );
    expect(verdict.outcome).toBe("link");
    expect(verdict.causes[0]?.cause).toBe("programme-link");
  });

  test("a flat battery in a faded unit is the device; in a sound one, long after its usual charge, it is handling", () => {
    const worn = judgeGap(
      {
        ...plainGap,
        ...flat,
        capacity: { state: "faded" },
        sinceCharge: { hours: hours(20), usual: hours(24) },
      },
      thresholds,
      zone,
    );
    expect(worn.outcome).toBe("device");
    expect(worn.causes[0]?.cause).toBe("battery-worn");
    const uncharged = judgeGap(
      {
        ...plainGap,
        ...flat,
        capacity: { state: "sound" },
        sinceCharge: { hours: hours(60), usual: hours(24) },
      },
      thresholds,
      zone,
    );
    expect(uncharged.outcome).toBe("handling");
    expect(uncharged.sentence).toMatch(/^No record from 14:10 to 21:40 on 10 November 2026 \(7 h 30 min\): /);
  });

  test("a flat battery during a stay in hospital is put down to being away, in neutral words", () => {
    const verdict = judgeGap(
      {
        ...plainGap,
        ...flat,
        span: { start: at("2026-11-10T14:10Z"), end: at("2026-11-14T14:10Z") },
        before: "off",
        after: "off",
        note: { kind: "hospital", from: at("2026-11-10T11:00Z") },
        capacity: { state: "sound" },
      },
      thresholds,
      zone,
    );
    expect(verdict.leadingSide).toBe("person");
    expect(verdict.sentence).toContain("away");
  });

  test("with nothing known but the silence, the console says it can't tell and what would settle it", () => {
    const verdict = judgeGap(
      { ...plainGap, ongoing: true, together: null, certificate: null, electronics: null },
      thresholds,
      zone,
    );
    expect(verdict.outcome).toBe("not-settled");
    expect(verdict.sentence).toContain("can't tell yet");
    expect(verdict.settle.length).toBeGreaterThan(1);
    const perMinute = verdict.settle.map((one) => one.expectedBits / one.effortMinutes);
    expect(perMinute).toEqual([...perMinute].sort((a, b) => b - a));
    expect(verdict.settle.find(({ test: name }) => name === "ring")?.wording).toContain(
      "Was anything different",
    );
  });

  test("a restart by itself with plenty of battery and open findings is the device", () => {
    const verdict = judgeGap(
      {
        ...plainGap,
        comeback: { kind: "restarted", reset: "watchdog" },
        battery: { path: "plenty", last: millivolts(3_850), cutOffReported: false },
        electronics: { signs: ["repeated restarts"] },
      },
      thresholds,
      zone,
    );
    expect(verdict.outcome).toBe("device");
  });

  test("a gap that late data filled is the link's, wherever the person and the battery were", () => {
    const verdict = judgeGap(
      {
        ...plainGap,
        ...flat,
        sinceCharge: { hours: hours(70), usual: hours(15) },
        before: "off",
        note: { kind: "holiday", from: at("2026-11-10T11:00Z") },
        filledAt: at("2026-11-12T08:05Z"),
        comeback: { kind: "ran-on", fate: "delivered", messages: null },
        signal: null,
      },
      thresholds,
      zone,
    );
    expect(verdict.outcome).toBe("link");
    expect(verdict.probability).toBeGreaterThan(0.95);
  });

  test("a late charge is no clue while the battery still has plenty", () => {
    const plenty: GapContext = {
      ...plainGap,
      ongoing: true,
      battery: { path: "plenty", last: millivolts(4_067), cutOffReported: false },
    };
    const overdue = { ...plenty, sinceCharge: { hours: hours(40), usual: hours(14) } };
    expect(judgeGap(overdue, thresholds, zone).sides).toEqual(judgeGap(plenty, thresholds, zone).sides);
  });
});
