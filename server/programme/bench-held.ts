import { holdOf } from "../domain/bench/session.ts";
import type { BenchSessionId, StaffId } from "../domain/ids.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import { type BenchSessionRow, benchSessionById } from "../store/bench-sessions.ts";
import type { Database } from "../store/database.ts";
import { staffNamed } from "../store/desk-staff.ts";

export type HoldRule = "unknown-session" | "session-over" | "held-by-another" | "changed-meanwhile";

/** A session that is being changed, and how it looked to whoever changes it. */
export interface SessionSeen {
  readonly session: BenchSessionId;
  /** The version on the page that was pressed. */
  readonly version: number;
}

/** The session, if `who` holds it and saw it as it is now. */
export function heldSession(
  db: Database,
  who: StaffId,
  seen: SessionSeen,
): { readonly kind: "held"; readonly session: BenchSessionRow } | Refused<HoldRule> {
  const session = benchSessionById(db, seen.session);
  if (session === null) return refused("unknown-session", "There is no such session.");
  if (session.state !== "open")
    return refused("session-over", `${session.reference} is over: begin a new session to measure again.`);
  const hold = holdOf(session, who, seen.version);
  switch (hold.kind) {
    case "mine":
      return { kind: "held", session };
    case "held-by-another": {
      const name = staffNamed(db, hold.holder)?.name ?? "Another technician";
      return refused(
        "held-by-another",
        `${name} holds ${session.reference} now. Ask, then press “Take it over” before you go on.`,
      );
    }
    case "changed-meanwhile":
      return refused(
        "changed-meanwhile",
        "This session has gone on meanwhile, in another window: it is shown as it is now. Nothing was done twice.",
      );
  }
}
