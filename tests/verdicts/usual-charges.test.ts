import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { type Instant, instant, millisecondsIn } from "../../server/domain/units.ts";
import { neverFullIn, type StateRun } from "../../server/domain/verdicts/charge-left.ts";
import { usualCharges } from "../../server/domain/verdicts/usual-charges.ts";

const at = (hours: number): Instant => instant(hours * millisecondsIn.hour);
const run = (state: StateRun["state"], from: number, to: number): StateRun => ({
  state,
  start: at(from),
  end: at(to),
});
/** Days of 10 h seated, each with a charge of `chargedHours` or none. */
const days = (charged: readonly boolean[], chargedHours = 5): StateRun[] =>
  charged.flatMap((isCharged, day) => {
    const from = day * 24;
    const until = from + (isCharged ? chargedHours : 0);
    return [
      ...(isCharged ? [run("on-charge", from, until)] : []),
      run("off", until, from + 8),
      run("seated", from + 8, from + 18),
      run("off", from + 18, from + 24),
    ];
  });
const often = (charged: number, of: number): boolean[] =>
  Array.from({ length: of }, (_, day) => day < charged);
const gapAfter = (of: number, lasted: number) => ({ start: at(of * 24), end: at(of * 24 + lasted) });

describe("usual charges that a gap passed over", () => {
  test("the chance of the next day without a charge is Laplace's rule of succession: (uncharged + 1) / (days + 2)", () => {
    // Laplace 1814, Essai philosophique sur les probabilités (from memory): after n of n, the next fails with 1 / (n + 2).
    expect(usualCharges(days(often(8, 8)), gapAfter(8, 30))).toEqual({
      days: 1,
      charged: 8,
      of: 8,
      chance: 1 / 10,
    });
    expect(usualCharges(days(often(6, 8)), gapAfter(8, 24))?.chance).toBeCloseTo(3 / 10, 12);
  });

  test("several days without one are the product of the rule, each day counted once it passed", () => {
    expect(usualCharges(days(often(8, 8)), gapAfter(8, 72))?.chance).toBeCloseTo(
      (1 / 10) * (2 / 11) * (3 / 12),
      12,
    );
  });

  test("a longer gap is never likelier to have passed without, nor one in a home that charges oftener", () => {
    const count = fc.integer({ min: 0, max: 12 });
    fc.assert(
      fc.property(count, count, fc.integer({ min: 24, max: 300 }), (one, other, lasted) => {
        const chance = (charged: number, hours: number) =>
          usualCharges(days(often(charged, 12)), gapAfter(12, hours))?.chance ?? 1;
        expect(chance(one, lasted + 24)).toBeLessThanOrEqual(chance(one, lasted) + 1e-12);
        expect(chance(Math.max(one, other), lasted)).toBeLessThanOrEqual(
          chance(Math.min(one, other), lasted) + 1e-12,
        );
      }),
    );
  });

  test("a shorter gap, too few days, and days on which nobody sat say nothing", () => {
    expect(usualCharges(days(often(8, 8)), gapAfter(8, 23))).toBeNull();
    expect(usualCharges(days(often(3, 3)), gapAfter(3, 48))).toBeNull();
    expect(usualCharges([run("off", 0, 240)], gapAfter(10, 48))).toBeNull();
  });
});

describe("a cell that is never filled", () => {
  test("was on the charger again and again, and never long enough", () => {
    expect(neverFullIn(days(often(6, 6), 1), at(144))).toBe(6);
  });

  test("is not said of one that was filled, that nobody charged, or that was seen for too short", () => {
    expect(neverFullIn(days(often(6, 6)), at(144))).toBeNull();
    expect(neverFullIn(days(often(0, 6)), at(144))).toBeNull();
    expect(neverFullIn(days(often(4, 4), 1), at(96))).toBeNull();
  });
});
