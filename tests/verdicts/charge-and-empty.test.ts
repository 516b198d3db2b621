import { describe, expect, test } from "vitest";
import type { MinuteState } from "../../server/domain/ledger/minute-state.ts";
import { instant, millisecondsIn } from "../../server/domain/units.ts";
import { chargeLeft } from "../../server/domain/verdicts/charge-left.ts";
import { emptyBefore } from "../../server/domain/verdicts/empty-before.ts";

/** [state, hours] pairs, one after the other. */
const runsOf = (pieces: readonly (readonly [MinuteState, number])[]) => {
  let at = 0;
  const runs = pieces.map(([state, hours]) => {
    const start = instant(at);
    at += hours * millisecondsIn.hour;
    return { state, start, end: instant(at) };
  });
  return { runs, end: instant(at) };
};

describe("what a sound cell would still have held", () => {
  test("falls by the hours since the last full charge, of the sixty it lasts", () => {
    const { runs, end } = runsOf([
      ["on-charge", 6],
      ["seated", 10],
      ["off", 5],
    ]);
    const left = chargeLeft(runs, end);
    expect(left?.share).toBeCloseTo(1 - 15 / 60, 9);
    expect(left?.sinceCharge).toBe(15);
  });

  test("is topped up by a short charge, and is not known before a full one was seen", () => {
    const topped = runsOf([
      ["on-charge", 6],
      ["seated", 30],
      ["on-charge", 1],
      ["off", 3],
    ]);
    expect(chargeLeft(topped.runs, topped.end)?.share).toBeCloseTo(0.5 + 0.25 - 0.05, 9);
    const never = runsOf([
      ["on-charge", 1],
      ["seated", 9],
      ["off", 14],
    ]);
    expect(chargeLeft(never.runs, never.end)).toBeNull();
  });
});

describe("how long nobody had sat on it", () => {
  const nights = [9, 10, 11, 10, 9, 10, 12].flatMap((hours): [MinuteState, number][] => [
    ["seated", 4],
    ["off", hours],
  ]);

  test("is told beside the second longest time that it usually stands empty", () => {
    const { runs, end } = runsOf([...nights, ["seated", 4], ["off", 40], ["on-charge", 2]]);
    expect(emptyBefore(runs, end)).toEqual({ hours: 42, usual: 11 });
  });

  test("is not known where part of that time was not seen, nor while somebody sits", () => {
    const hidden = runsOf([...nights, ["seated", 4], ["no-record", 5], ["off", 40]]);
    expect(emptyBefore(hidden.runs, hidden.end)).toBeNull();
    const seated = runsOf([...nights, ["seated", 4]]);
    expect(emptyBefore(seated.runs, seated.end)).toBeNull();
  });
});
