import type { Instant } from "../units.ts";

/** Something after which readings can't be compared with those before. A wash may leave the insert turned or shifted: the
 *  load must go on being compared with how it used to lie, or nobody would see it. */
export interface BaselineChange {
  readonly at: Instant;
  readonly kind: "wash" | "chair" | "bench";
}

/** @returns the last of these up to `end`, but not before `since` */
export const lastChange = (
  changes: readonly BaselineChange[],
  kinds: ReadonlySet<BaselineChange["kind"]>,
  since: Instant,
  end: Instant,
): Instant =>
  changes.reduce((last, { at, kind }) => (kinds.has(kind) && at > last && at < end ? at : last), since);
