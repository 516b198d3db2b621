import { describe, expect, it } from "vitest";
import { randomFrom } from "../../scripts/simulated-cushions/random.ts";
import type { BaselineChange } from "../../server/domain/condition/baseline-change.ts";
import { healthDays } from "../../server/domain/condition/unit-health.ts";
import { personNotCushion } from "../../server/domain/drift/after-swap.ts";
import { ewmaRunLength, twoSidedCusumRunLength } from "../../server/domain/drift/average-run-length.ts";
import { budget, driftCharts } from "../../server/domain/drift/drift-chart.ts";
import { emptyOffsetDrift } from "../../server/domain/drift/empty-offset-drift.ts";
import { dayLoad, settledLoad } from "../../server/domain/drift/settled-load.ts";
import { nothingElseTold } from "../../server/domain/record/told-events.ts";
import type { RecordedBoot, RecordedFrame, RecordedMinute } from "../../server/domain/record/unit-record.ts";
import { gridDay } from "../../server/domain/sensor-grid/grid-day.ts";
import { celsius, instant, kilograms, millivolts } from "../../server/domain/units.ts";

const day = 86_400_000;
const minute = 60_000;

describe("the limits of the drift charts", () => {
  // The Markov chain is itself held against published run lengths in control-charts.test.ts.
  it("give each chart the run length that its half of the budget asks for", () => {
    const { pointsPerFalseAlarm, lambda, width, allowance, limit } = budget;
    expect(Math.abs(ewmaRunLength(lambda, width, 0) / pointsPerFalseAlarm - 1)).toBeLessThan(0.02);
    expect(Math.abs(twoSidedCusumRunLength(allowance, limit, 0) / pointsPerFalseAlarm - 1)).toBeLessThan(
      0.02,
    );
    expect((2 * 365.25) / (pointsPerFalseAlarm / 2)).toBeCloseTo(1, 1);
  });

  it("hold the budget though centre and spread come from a week of random days", () => {
    const random = randomFrom("drift budget");
    let alarms = 0;
    const units = 400;
    for (let unit = 0; unit < units; unit++) {
      // Four weeks are what the console looks at.
      const points = Array.from({ length: 28 }, (_, index) => ({
        at: instant(index * day),
        level: random.normal(0, 1),
      }));
      const { ewma, cusum } = driftCharts(points, 0);
      if (ewma.firstCrossing !== null || cusum.signals.length > 0) alarms++;
    }
    // One in two unit-years of the 21 days after the baseline, with room for chance (Poisson, about 2 deviations).
    const allowed = (units * 21) / 730.5;
    expect(alarms).toBeLessThan(allowed + 2 * Math.sqrt(allowed));
  });
});

function emptyFrames(days: number, level: (index: number, temperature: number) => number): RecordedFrame[] {
  const random = randomFrom("empty frames");
  return Array.from({ length: days * 6 }, (_, index) => {
    const temperature = 21 + 8 * random.next() - (index >= 15 * 6 && index < 22 * 6 ? 7 : 0);
    const mean = level(Math.floor(index / 6), temperature);
    return {
      at: instant(Math.floor(index / 6) * day + (index % 6) * 7_200_000),
      receivedAt: instant(0),
      seat: "empty",
      rows: 10,
      columns: 10,
      cells: Uint8Array.from({ length: 100 }, () => Math.round(mean + random.normal(0, 1))),
      temperature: celsius(temperature),
    };
  });
}

/** The days as the console keeps them. */
function inDays<Item extends { readonly at: number }>(items: readonly Item[]): Item[][] {
  const days = new Map<number, Item[]>();
  for (const item of items) {
    const index = Math.floor(item.at / day);
    const list = days.get(index);
    if (list) list.push(item);
    else days.set(index, [item]);
  }
  return [...days.values()];
}

const driftOf = (frames: readonly RecordedFrame[]) =>
  emptyOffsetDrift(
    inDays(frames).flatMap((list) => {
      const sums = gridDay(list, [])?.empty;
      return sums ? [{ at: instant(Math.floor((list[0]?.at ?? 0) / day + 0.5) * day), sums }] : [];
    }),
    null,
  );

describe("the empty reading", () => {
  it("of a grid that reads more when warm is not said to drift in a cold week", () => {
    const result = driftOf(emptyFrames(28, (_, temperature) => 20 + 0.15 * (temperature - 25)));
    expect(result.kind).toBe("charted");
    if (result.kind !== "charted") return;
    expect(result.drift.perDegree * 255).toBeGreaterThan(0.12);
    expect(result.drift.leftLimitsAt).toBeNull();
    const uncompensated = driftOf(
      emptyFrames(22, (_, temperature) => 20 + 0.15 * (temperature - 25)).map((frame) => ({
        ...frame,
        temperature: celsius(25),
      })),
    );
    // The same week with its temperature unknown does look like drift: the compensation is what makes the difference.
    expect(uncompensated.kind === "charted" && uncompensated.drift.leftLimitsAt !== null).toBe(true);
  });

  it("that creeps by 3 % of span a month tells the day it leaves its tolerance, with an interval about the truth", () => {
    const perDay = (0.03 * 255) / 30;
    const from = 10;
    const result = driftOf(emptyFrames(22, (index) => 20 + perDay * Math.max(0, index - from)));
    const leaves = result.kind === "charted" ? result.drift.leavesTolerance : null;
    const truth = (from + (0.02 * 255) / perDay) * day;
    expect(leaves?.earliest).toBeLessThan(truth + 2 * day);
    expect(leaves?.latest === null || (leaves?.latest ?? 0) > truth - 2 * day).toBe(true);
  });

  it("is compared within one firmware only", () => {
    const boot = (at: number, firmware: string): RecordedBoot => ({
      at: instant(at),
      receivedAt: instant(at),
      boot: at,
      reset: "software",
      firmware,
      hardware: "C",
      clockSet: true,
      rows: 10,
      columns: 10,
      queued: 0,
    });
    const days = Array.from({ length: 4 }, (_, index) => ({
      start: instant(index * day),
      end: instant((index + 1) * day),
    }));
    const boots = [boot(1, "2.4"), boot(2, "2.4"), boot(day + 3, "2.5"), boot(2 * day + 4, "2.5")];
    const record = { minutes: [], reliefs: [], frames: [], boots, faults: [], holes: [], ...nothingElseTold };
    const since = (changes: BaselineChange[] = []) =>
      healthDays(record, days, changes).map(({ baselineSince }) => baselineSince);
    expect(since()).toEqual([0, day + 3, day + 3]);
    // A wash or another chair does the same.
    const wash = { at: instant(day + 9), kind: "wash" } as const;
    expect(since([wash])).toEqual([0, day + 9, day + 9]);
    // But a wash may leave the insert turned: how the load used to lie goes on being known.
    expect(healthDays(record, days, [wash]).map(({ lyingSince }) => lyingSince)).toEqual([0, 0, 0]);
  });

  it("finds the slope a degree within days, whatever drifts between them", () => {
    const random = randomFrom("warm");
    const frames = Array.from({ length: 200 }, (_, index): RecordedFrame => {
      const temperature = 20 + 10 * random.next();
      const level = 20 + 0.5 * temperature + 0.4 * Math.floor(index / 10);
      return {
        at: instant(Math.floor(index / 10) * day + (index % 10) * minute),
        receivedAt: instant(0),
        seat: "empty",
        rows: 10,
        columns: 10,
        cells: Uint8Array.from({ length: 100 }, () => Math.round(level + random.normal(0, 1))),
        temperature: celsius(temperature),
      };
    });
    const drift = driftOf(frames);
    expect(drift.kind === "charted" ? 255 * drift.drift.perDegree : 0).toBeCloseTo(0.5, 1);
  });
});

/** Four sits of an hour a day that creep after sitting down. */
function sitting(days: number, weight: (index: number) => number): RecordedMinute[] {
  const random = randomFrom("settled");
  return Array.from({ length: days }, (_, index) =>
    [9, 12, 15, 18].flatMap((hour) => {
      const today = weight(index) * (1 + random.normal(0, 0.01));
      return Array.from({ length: 70 }, (_, into): RecordedMinute => {
        const sat = into - 5;
        return {
          at: instant(index * day + hour * 60 * minute + into * minute),
          receivedAt: instant(0),
          boot: 1,
          seat: sat < 0 ? "empty" : "loaded",
          load: kilograms(sat < 0 ? 0 : today * (1 + 0.04 * Math.log10(1 + sat)) + (sat < 6 ? 8 : 0)),
          centreRight: 0,
          centreFront: 0,
          cell: millivolts(3_900),
          power: "on-battery",
          temperature: celsius(25),
          signal: null,
        };
      });
    }),
  ).flat();
}

const loadOf = (minutes: readonly RecordedMinute[]) =>
  settledLoad(
    inDays(minutes).flatMap((list, index) => {
      const level = dayLoad(list);
      return level === null ? [] : [{ at: instant((index + 0.5) * day), level }];
    }),
  );

describe("the settled load", () => {
  it("of somebody who stays the same is left alone, however unsettled the first minutes", () => {
    expect(loadOf(sitting(28, () => 58))?.leftLimitsAt).toBeNull();
  });

  it("that falls by a tenth is told, by how much and since when", () => {
    const change = loadOf(sitting(28, (index) => (index < 14 ? 58 : 52)));
    expect(change?.kept).toBeGreaterThan(0.87);
    expect(change?.kept).toBeLessThan(0.92);
    expect(change?.leftLimitsAt).toBeGreaterThan(14 * day);
    expect(change?.leftLimitsAt).toBeLessThan(19 * day);
  });

  it("kept low by a fresh cushion points to the person, brought back to the cushion that went", () => {
    expect(personNotCushion({ before: 58, fallen: 52, afterSwap: 52.4 })).toBeGreaterThan(0.9);
    expect(personNotCushion({ before: 58, fallen: 52, afterSwap: 57.6 })).toBeLessThan(0.1);
    expect(personNotCushion({ before: 58, fallen: 52, afterSwap: 55 })).toBeCloseTo(0.5, 1);
  });
});
