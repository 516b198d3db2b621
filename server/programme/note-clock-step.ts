import type { Instant } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";

export interface ClockStep {
  /** What it would have shown. `at-start`: at the latest entry of the audit. */
  readonly from: Instant;
  readonly to: Instant;
  readonly noticed: "at-start" | "while-running";
}

/** Puts down that the server's own clock was set: what arrived while it was wrong is placed right by the unit's next word
 *  in the same boot; a boot that was over by then keeps the time it was given, and this says which those are. */
export function noteClockStep({ db, log }: Services, { from, to, noticed }: ClockStep): void {
  const detail = { bySeconds: Math.round((to - from) / 1_000), noticed };
  log.error(
    detail,
    "the server's clock was set: boots of units that ended while it was wrong may lie wrong by as much",
  );
  appendAudit(db, {
    at: to,
    actor: { kind: "system" },
    action: "set-server-clock",
    subject: "server",
    detail,
  });
}
