import { newId } from "../chance.ts";
import { usualTolerances } from "../domain/bench/tolerances.ts";
import { type BenchSessionId, benchSessionId, type UnitSerial } from "../domain/ids.ts";
import { placeWords } from "../domain/lifecycle/moves.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { insertBenchSession, openBenchSessionOf } from "../store/bench-sessions.ts";
import type { Database } from "../store/database.ts";
import { modelById } from "../store/models.ts";
import { nextBenchReference } from "../store/references.ts";
import { unitBySerial } from "../store/units.ts";
import type { StaffActor } from "./staff-actor.ts";

export interface SessionStarted {
  readonly kind: "started";
  readonly session: BenchSessionId;
  readonly reference: string;
}

export type StartRule = "unknown-unit" | "not-on-the-bench" | "session-open";

/** Begins a guided session. What the model asks of a reading is kept with it, so that a later change of the model doesn't
 *  change what this session found. */
export function startBenchSession(
  services: Services,
  actor: StaffActor,
  unit: UnitSerial,
): SessionStarted | Refused<StartRule> {
  const outcome = services.db.transaction((tx) => startWithin(tx, services, actor, unit), {
    behavior: "immediate",
  });
  if (outcome.kind === "started") services.live.changed("bench", `unit:${unit}`);
  return outcome;
}

function startWithin(
  db: Database,
  services: Services,
  actor: StaffActor,
  serial: UnitSerial,
): SessionStarted | Refused<StartRule> {
  const unit = unitBySerial(db, serial);
  if (unit === null) return refused("unknown-unit", `There is no unit ${serial}.`);
  const open = openBenchSessionOf(db, serial);
  if (open !== null)
    return refused("session-open", `${open.reference} is already open for ${serial}: go on with that one.`);
  if (unit.place !== "on-the-bench")
    return refused(
      "not-on-the-bench",
      `${serial} is ${placeWords[unit.place]}: move it to the bench on its page first. A unit that was with somebody is cleaned before.`,
    );
  const now = services.clock.now();
  const id = benchSessionId(newId(services.chance, "bench"));
  const reference = nextBenchReference(db);
  const model = modelById(db, unit.modelId);
  insertBenchSession(db, {
    id,
    reference,
    unitSerial: serial,
    state: "open",
    version: 1,
    heldBy: actor.id,
    startedAt: now,
    touchedAt: now,
    step: "identity",
    asked: null,
    tolerances: { ...usualTolerances, ...model?.benchTolerances },
    tolerancesFrom: model?.tolerancesFrom ?? null,
    absentCells: model?.absentCells ?? null,
    outcome: null,
    note: null,
    endedAt: null,
  });
  appendAudit(db, {
    at: now,
    actor,
    action: "start-bench-session",
    subject: `bench-session:${id}`,
    detail: { reference, unit: serial },
  });
  return { kind: "started", session: id, reference };
}
