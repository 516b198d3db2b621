import type { LeanDirection, LeanVisibility } from "../condition/condition.ts";
import type { RecordedRelief } from "../record/unit-record.ts";
import { type Instant, type Interval, millisecondsIn } from "../units.ts";

/** Reliefs of one direction before a suspected fault, and since; and what the record would have shown had nothing but
 *  the fault changed. */
export interface Counterfactual {
  readonly direction: LeanDirection;
  readonly since: Instant;
  /** Recorded a day of record. */
  readonly before: number;
  readonly after: number;
  /** What the earlier reliefs leave when the fault is laid over them. */
  readonly withFault: Interval;
  readonly verdict: CounterfactualVerdict;
}

/** `explains`: the fault alone makes the drop. `part`: it makes some of it, and more is missing than it would hide.
 *  `does-not`: it hides nothing of this direction, yet reliefs are fewer. `no-drop`: they are not fewer. */
export type CounterfactualVerdict = "explains" | "part" | "does-not" | "no-drop";

/** Days on either side below which nothing is said. Assumption. */
const fewestDays = 2;
const fewestBefore = 5;
const day = 24 * millisecondsIn.hour;
const ninetyPercent = 1.645;
/** Days differ more than chance makes counts differ: variance over mean. Assumption. */
const overdispersion = 2;
const kindOf = { left: "lean-left", right: "lean-right", forward: "lean-forward" } as const;

/** @param start of the record; @param visibility today, by direction: earlier leans replayed through the fault
 *  @param since the fault; @param end of the record */
export function counterfactuals(
  reliefs: readonly RecordedRelief[],
  visibility: readonly LeanVisibility[],
  { start, since, end }: { readonly start: Instant; readonly since: Instant; readonly end: Instant },
): Counterfactual[] {
  const daysBefore = (since - start) / day;
  const daysAfter = (end - since) / day;
  if (daysBefore < fewestDays || daysAfter < fewestDays) return [];
  return visibility.flatMap(({ direction, outOfTen, sight }) => {
    const ofKind = reliefs.filter(({ kind }) => kind === kindOf[direction]);
    const before = ofKind.filter(({ at }) => at < since).length;
    const after = ofKind.length - before;
    if (before < fewestBefore) return [];
    const rate = before / daysBefore;
    const expected = expectedAfter(before, daysBefore, daysAfter);
    const withFault = expected(outOfTen.best / 10);
    const unhindered = expected(1);
    return [
      {
        direction,
        since,
        before: rate,
        after: after / daysAfter,
        withFault: {
          low: Math.min(withFault.low, expected(outOfTen.low / 10).low) / daysAfter,
          best: withFault.best / daysAfter,
          high: Math.max(withFault.high, expected(outOfTen.high / 10).high) / daysAfter,
          level: 0.9,
        },
        verdict: verdictOf(after, unhindered, expected(outOfTen.low / 10).low, sight),
      },
    ];
  });
}

/** Predictive interval of a count from an earlier count: variance of what is to come plus that of the rate it is
 *  predicted from (Nelson 1982, Applied Life Data Analysis, 6.3: prediction for Poisson counts). */
const expectedAfter = (before: number, daysBefore: number, daysAfter: number) => (seen: number) => {
  const ratio = (seen * daysAfter) / daysBefore;
  const best = before * ratio;
  const half = ninetyPercent * Math.sqrt(overdispersion * (best + (before + 1) * ratio ** 2));
  return { low: Math.max(0, best - half), best, high: best + half };
};

function verdictOf(
  after: number,
  unhindered: { readonly low: number },
  lowWithFault: number,
  sight: LeanVisibility["sight"],
): CounterfactualVerdict {
  if (after >= unhindered.low) return "no-drop";
  if (after >= lowWithFault && sight !== "sees") return "explains";
  return sight === "sees" ? "does-not" : "part";
}
