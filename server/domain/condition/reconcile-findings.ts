import type { Instant } from "../units.ts";
import type { FindingKind } from "./condition.ts";
import type { Findings } from "./findings/findings-of.ts";
import type { FoundNow } from "./findings/found-now.ts";

/** A finding on record that hasn't been cleared. */
export interface OpenFinding {
  readonly id: string;
  readonly kind: FindingKind;
  readonly where: string;
  readonly since: Instant;
}

export interface Reconciled<Open extends OpenFinding> {
  readonly raised: readonly FoundNow[];
  /** Still there: the row keeps its identity, its start and what a technician said of it. */
  readonly kept: readonly { readonly open: Open; readonly now: FoundNow }[];
  readonly cleared: readonly Open[];
}

/** Matches what is found now with what is on record, by kind and place. What was refuted stays on record as long as the
 *  signs last, so it isn't raised again until it has been clear. */
export function reconcileFindings<Open extends OpenFinding>(
  open: readonly Open[],
  { found, judged }: Findings,
): Reconciled<Open> {
  const same = (a: { kind: FindingKind; where: string }, b: { kind: FindingKind; where: string }) =>
    a.kind === b.kind && a.where === b.where;
  const kept = found.flatMap((now) => {
    const known = open.find((row) => same(row, now));
    return known ? [{ open: known, now }] : [];
  });
  return {
    raised: found.filter((now) => !open.some((row) => same(row, now))),
    kept,
    cleared: open.filter((row) => judged.has(row.kind) && !found.some((now) => same(row, now))),
  };
}
