import type { CommandId, StaffId } from "../ids.ts";
import type { Instant } from "../units.ts";

export const sessionStates = ["open", "finished", "abandoned"] as const;
export type SessionState = (typeof sessionStates)[number];

export const outcomes = ["pass", "pass-masked", "repair", "retire"] as const;
export type BenchOutcome = (typeof outcomes)[number];

export const outcomeWords: Readonly<Record<BenchOutcome, string>> = {
  pass: "pass",
  "pass-masked": "pass with cells masked",
  repair: "repair",
  retire: "retire",
};

/** Readings the unit was asked for and that haven't been kept yet. */
export interface Asked {
  readonly point: string;
  readonly at: Instant;
  readonly commands: readonly CommandId[];
  readonly equipment: string | null;
  readonly kilograms: number | null;
}

export type Hold =
  | { readonly kind: "mine" }
  | { readonly kind: "held-by-another"; readonly holder: StaffId }
  | { readonly kind: "changed-meanwhile" };

/** One technician holds a session; what another has open on the screen may be out of date.
 *  @param seen the version the page showed */
export function holdOf(
  session: { readonly heldBy: StaffId; readonly version: number },
  who: StaffId,
  seen: number,
): Hold {
  if (session.heldBy !== who) return { kind: "held-by-another", holder: session.heldBy };
  return session.version === seen ? { kind: "mine" } : { kind: "changed-meanwhile" };
}
