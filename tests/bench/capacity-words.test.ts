import { expect, test } from "vitest";
import type { Capacity } from "../../server/domain/battery/capacity.ts";
import { zoneName } from "../../server/domain/time/local-day.ts";
import { instant, milliampHours } from "../../server/domain/units.ts";
import { capacityWords } from "../../views/charts/battery-chart-capacity.tsx";

const zone = zoneName("UTC");
const on = (month: number, day: number) => instant(Date.UTC(2026, month - 1, day));

function wordsFor(wornAt: Capacity["wornAt"]): string {
  if (zone === null) throw new Error("no UTC");
  const interval = { low: 0.82, best: 0.87, high: 0.92, level: 0.9 };
  const readings = [{ at: on(6, 1), depthDeviation: 0.01, depth: 0.5, drawn: milliampHours(500) }];
  const rated = milliampHours(1_200);
  return capacityWords(
    { rated, readings, now: interval, asDrawn: interval, ofRated: interval, isDrawDescribed: true, wornAt },
    zone,
  );
}

test("an end of life that is to come has its earliest day, and one that may be past is not given a day to come", () => {
  expect(wordsFor({ earliest: on(7, 1), best: on(9, 1), latest: null })).toContain(
    "at the earliest 1 July 2026",
  );
  const maybe = wordsFor({ earliest: on(5, 20), best: on(9, 1), latest: null });
  expect(maybe).toContain("about 1 September 2026, may be there already");
  expect(maybe).not.toContain("20 May");
  const past = wordsFor({ earliest: on(4, 1), best: on(5, 20), latest: on(7, 1) });
  expect(past).toContain("It came down to 80 % about 20 May 2026");
  expect(past).not.toContain("comes down");
});
