import { isUnrecorded } from "../ledger/timeline.ts";
import type { Span } from "../units.ts";
import { chargeLeft, neverFullIn, type StateRun } from "./charge-left.ts";
import { chargingBefore, sinceCharge } from "./charging-habit.ts";
import { emptyBefore } from "./empty-before.ts";
import type { GapContext } from "./gap-context.ts";
import { usualCharges } from "./usual-charges.ts";

type Habits = Pick<
  GapContext,
  "chargeLeft" | "neverFullIn" | "emptyFor" | "sinceCharge" | "usualCharges" | "charging"
>;

/** How it was charged and sat on before a gap, against this home's own habits. Before the second part of a gap nothing
 *  was seen for hours: it may have been charged, or sat on, meanwhile.
 *  @param runs the ledger before it, oldest first */
export function habitsBefore(runs: readonly StateRun[], span: Span): Habits {
  const last = runs.findLast(({ start }) => start < span.start);
  if (last && isUnrecorded(last.state))
    return {
      chargeLeft: null,
      neverFullIn: null,
      emptyFor: null,
      sinceCharge: null,
      usualCharges: usualCharges(runs, span),
      charging: null,
    };
  const onCharge = runs.filter(({ state }) => state === "on-charge");
  return {
    chargeLeft: chargeLeft(runs, span.start),
    neverFullIn: neverFullIn(runs, span.start),
    emptyFor: emptyBefore(runs, span.start),
    sinceCharge: sinceCharge(onCharge, span.start),
    usualCharges: usualCharges(runs, span),
    charging: chargingBefore(onCharge, span.start),
  };
}
