import { describe, expect, test } from "vitest";
import { zoneName } from "../../server/domain/time/local-day.ts";
import { hours, instant, millivolts } from "../../server/domain/units.ts";
import type { GapContext } from "../../server/domain/verdicts/gap-context.ts";
import { judgeGap, judgeThin } from "../../server/domain/verdicts/judge.ts";
import type { ThinContext } from "../../server/domain/verdicts/thin-context.ts";

const zone = zoneName("Europe/London");
if (!zone) throw new Error("zone data missing");
const thresholds = { settledThreshold: 0.8, settledThresholdPerson: 0.9 };
const at = (text: string) => instant(Date.parse(text));

const plainGap: GapContext = {
  span: { start: at("2026-11-10T14:10Z"), end: at("2026-11-10T21:40Z") },
  ongoing: false,
  filledAt: null,
  together: { silent: 0, others: 17, backFor: null },
  comeback: null,
  battery: null,
  chargeLeft: null,
  emptyFor: null,
  sinceCharge: null,
  charging: null,
  capacity: null,
  signal: null,
  before: null,
  after: null,
  colderBy: null,
  note: "none",
  hour: 14,
  certificate: "good",
  electronics: { signs: [] },
  history: null,
};
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

const plainThin: ThinContext = {
  span: { start: at("2026-11-10T14:10Z"), end: at("2026-11-10T16:40Z") },
  ongoing: false,
  due: 5,
  stirs: null,
  eyes: { hidden: [], deadLine: null, drifted: false },
  habit: { earlier: { met: 150, due: 220, days: 13 }, lately: { met: 14, due: 48, days: 3 }, longAgo: null },
  mix: {
    earlier: { "lean-left": 70, "lean-right": 60, "lean-forward": 20 },
    lately: { "lean-right": 14, "lean-forward": 4 },
  },
  prompts: null,
  tries: { count: 0, countedBefore: 0 },
  load: { ratio: 1.01, turned: false },
  note: "none",
  planChangedAt: null,
};

describe("thin stretches", () => {
  test("left leans vanished, dead column: the cushion could not see them", () => {
    const verdict = judgeThin(
      { ...plainThin, eyes: { hidden: ["left"], deadLine: "column 13, right side", drifted: false } },
      thresholds,
      zone,
    );
    expect(verdict.outcome).toBe("device");
    expect(verdict.causes[0]?.cause).toBe("line-dead");
    expect(verdict.sentence).toContain("could not have seen leans to the left");
  });

  const stirring = (count: number): ThinContext["stirs"] => ({
    count,
    minutes: 150,
    usual: { reliefs: 150, atReliefs: 141, elsewhere: 40, seatedMinutes: 7_800 },
  });

  test("left leans vanished, grid healthy: a change of the person's, in neutral words, with kind questions", () => {
    const verdict = judgeThin({ ...plainThin, stirs: stirring(0) }, thresholds, zone);
    expect(verdict.outcome).toBe("person");
    expect(verdict.causes[0]?.cause).toBe("fewer-done");
    expect(verdict.sentence).not.toMatch(/fail|complian|refus/i);
    expect(verdict.settle.find(({ test: name }) => name === "ring")?.wording).toContain("shoulders");
  });

  test("the same drop, but the load shifted and came back as it does with reliefs: the person is not named", () => {
    const verdict = judgeThin({ ...plainThin, stirs: stirring(5) }, thresholds, zone);
    expect(verdict.outcome).not.toBe("person");
    expect(verdict.evidence.find(({ clue }) => clue === "stirs")?.sentence).toContain(
      "shifted and came back 5 times without a relief being counted",
    );
  });

  test("the same drop, grid not assessed: the person is not named", () => {
    expect(judgeThin({ ...plainThin, eyes: null }, thresholds, zone).outcome).toBe("not-settled");
  });

  test("a direction blind and no earlier reliefs to go by is never put on the person", () => {
    const verdict = judgeThin(
      {
        ...plainThin,
        habit: null,
        mix: null,
        load: null,
        tries: null,
        eyes: { hidden: ["right"], deadLine: "column 2, left side", drifted: false },
      },
      thresholds,
      zone,
    );
    expect(verdict.leadingSide).toBe("device");
  });

  test("not enough seen: two days are no habit, and no change is claimed from them", () => {
    const verdict = judgeThin(
      {
        ...plainThin,
        habit: { earlier: { met: 9, due: 30, days: 2 }, lately: { met: 3, due: 14, days: 2 }, longAgo: null },
      },
      thresholds,
      zone,
    );
    expect(verdict.evidence.some(({ clue }) => clue === "change")).toBe(false);
  });

  test("a washed cover and a map on the other side point to the insert", () => {
    const verdict = judgeThin(
      {
        ...plainThin,
        mix: {
          earlier: { "lean-left": 80, "lean-forward": 20 },
          lately: { "lean-right": 12, "lean-forward": 4 },
        },
        load: { ratio: 1, turned: true },
        note: { kind: "washed-cover", from: at("2026-11-09T09:00Z") },
      },
      thresholds,
      zone,
    );
    expect(verdict.outcome).toBe("handling");
    expect(verdict.causes[0]?.cause).toBe("insert-moved");
  });

  test("one long sit in an otherwise steady record is called ordinary", () => {
    const verdict = judgeThin(
      {
        ...plainThin,
        habit: {
          earlier: { met: 150, due: 220, days: 13 },
          lately: { met: 30, due: 46, days: 3 },
          longAgo: null,
        },
      },
      thresholds,
      zone,
    );
    expect(verdict.causes[0]?.cause).toBe("ordinary");
  });

  test("right leans that are a larger share of what little is left are no sign of a turned cushion", () => {
    const mix = (lately: ThinContext["mix"]) => judgeThin({ ...plainThin, mix: lately }, thresholds, zone);
    const earlier = { "lean-left": 140, "lean-forward": 8, "lean-right": 2 };
    const few = mix({ earlier, lately: { "lean-right": 3, "lean-forward": 5 } });
    expect(few.causes[0]?.cause).toBe("fewer-done");
    const turned = mix({ earlier, lately: { "lean-right": 30, "lean-forward": 2 } });
    expect(turned.causes[0]?.cause).toBe("insert-moved");
  });
});
