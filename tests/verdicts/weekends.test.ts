import { describe, expect, test } from "vitest";
import { aroundThin } from "../../server/domain/verdicts/around-a-thin-stretch.ts";
import { emptyDigest } from "../../server/domain/verdicts/day-digest.ts";
import { judgeThin } from "../../server/domain/verdicts/judge.ts";
import { plainThin, thresholds, zone } from "./plain-contexts.ts";

/** `count` days from a Monday on; reliefs met of 16 due by whether it is a weekend. */
const daysFrom = (first: number, count: number, met: (weekend: boolean, day: number) => number) =>
  Array.from({ length: count }, (_, index) => {
    const weekend = (first + index) % 7 >= 5;
    const done = met(weekend, first + index);
    return { met: done, missed: 16 - done, weekend, digest: emptyDigest };
  });
/** The stretch is on day 89 (a Saturday is 89 mod 7 = 5), with 14 days and 60 days before. */
const on = (day: number, met: (weekend: boolean, day: number) => number) => {
  const around = aroundThin(
    daysFrom(day - 15, 14, met),
    daysFrom(day - 1, 3, met),
    emptyDigest,
    daysFrom(day - 75, 60, met),
    day % 7 >= 5,
  );
  return judgeThin({ ...plainThin, habit: around.habit, mix: null, load: null }, thresholds, zone);
};
const change = (verdict: ReturnType<typeof on>) =>
  verdict.evidence.find(({ clue }) => clue === "change")?.sentence ?? "";
const fewer = (verdict: ReturnType<typeof on>) =>
  verdict.causes.find(({ cause }) => cause === "fewer-done")?.probability ?? 0;

describe("a person whose weekends are not like their weekdays", () => {
  const quietWeekends = (weekend: boolean) => (weekend ? 4 : 13);

  test("has no fewer reliefs on a Sunday than on other weekend days, and no change is claimed", () => {
    const sunday = on(90, quietWeekends);
    expect(change(sunday)).toContain("about as before");
    expect(fewer(sunday)).toBeLessThan(0.1);
  });

  test("and whose weekdays then become like weekends has changed", () => {
    const since = 86;
    const dropped = on(88, (weekend, day) => (weekend || day >= since ? 4 : 13));
    expect(change(dropped)).toContain("fewer than before");
    expect(fewer(dropped)).toBeGreaterThan(0.3);
  });

  test("is told from one whose days are all alike, where all days count", () => {
    const alike = on(90, () => 12);
    expect(change(alike)).toContain("Earlier, over 14 days");
    const sunday = on(90, quietWeekends);
    expect(change(sunday)).toContain("Earlier, over 4 days");
  });
});

test("a slow change, never a tenth in a fortnight, is still seen against the weeks before", () => {
  const slowly = on(90, (_, day) => Math.round(14 - Math.max(0, day - 15) * 0.1));
  expect(change(slowly)).toContain("days seen before that");
  const steady = on(90, () => 12);
  expect(fewer(slowly)).toBeGreaterThan(fewer(steady));
});
