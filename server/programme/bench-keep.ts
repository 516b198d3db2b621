import { type BenchModel, judgeStep } from "../domain/bench/judge-step.ts";
import type { JudgedStep, PointReading, StepFacts } from "../domain/bench/reading.ts";
import { stepById } from "../domain/bench/steps.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { type BenchSessionRow, benchSessionById, changeBenchSession } from "../store/bench-sessions.ts";
import { latestStepsOf, saveStep } from "../store/bench-steps.ts";
import type { Database } from "../store/database.ts";
import { modelById } from "../store/models.ts";
import { unitBySerial } from "../store/units.ts";
import { type HoldRule, heldSession, type SessionSeen } from "./bench-held.ts";
import { type AskedProgress, progressOf } from "./bench-progress.ts";
import type { StaffActor } from "./staff-actor.ts";

/** What no unit can tell. */
export interface SeenByEye {
  readonly hazardSeen?: boolean;
  readonly flexSeen?: "nothing" | "damage";
}

export type KeepRule = HoldRule | "not-all-there" | "another-grid" | "look-first";

/** Keeps what has come, and judges the step as soon as all of it is there. */
export async function keepReading(
  services: Services,
  actor: StaffActor,
  seen: SessionSeen,
  eye: SeenByEye,
): Promise<{ readonly kind: "kept"; readonly judged: boolean } | Refused<KeepRule>> {
  const before = benchSessionById(services.db, seen.session);
  const progress = before === null ? null : await progressOf(services, before);
  const outcome = services.db.transaction((tx) => keepWithin(tx, services, actor, { seen, eye, progress }), {
    behavior: "immediate",
  });
  if (outcome.kind === "kept") services.live.changed("bench", `unit:${outcome.unit}`);
  return outcome.kind === "refused" ? outcome : { kind: "kept", judged: outcome.judged };
}

interface Keeping {
  readonly seen: SessionSeen;
  readonly eye: SeenByEye;
  readonly progress: AskedProgress | null;
}

function keepWithin(db: Database, services: Services, actor: StaffActor, { seen, eye, progress }: Keeping) {
  const held = heldSession(db, actor.id, seen);
  if (held.kind === "refused") return held;
  const { session } = held;
  if (progress === null || (progress.reading === null && progress.facts === null))
    return refused(
      "not-all-there",
      "The readings have not all come yet. Nothing was lost: wait, or ask again.",
    );
  const model = benchModelOf(db, session);
  const { reading } = progress;
  if (reading !== null && (reading.rows !== model.rows || reading.columns !== model.columns))
    return refused(
      "another-grid",
      `The unit sent ${reading.rows} rows and ${reading.columns} columns; its model has ${model.rows} and ${model.columns}. Check that the right insert is in it.`,
    );
  const facts = withEyes(session, progress.facts ?? {}, eye);
  if (facts === null) return refused("look-first", "Say what you saw: no unit can tell that.");
  return { ...write(db, services, actor, session, { reading, facts, model }), unit: session.unitSerial };
}

function write(
  db: Database,
  services: Services,
  actor: StaffActor,
  session: BenchSessionRow,
  got: { readonly reading: PointReading | null; readonly facts: StepFacts; readonly model: BenchModel },
): { readonly kind: "kept"; readonly judged: boolean } {
  const at = services.clock.now();
  const taken = latestStepsOf(db, session.id);
  const before = taken.get(session.step);
  const order = stepById(session.step).points.map(({ id }) => id);
  const readings = [
    ...(before?.readings ?? []).filter(({ point }) => point !== got.reading?.point),
    ...(got.reading === null ? [] : [got.reading]),
  ].sort((a, b) => order.indexOf(a.point) - order.indexOf(b.point));
  const facts = { ...before?.facts, ...got.facts };
  const judged = judgeStep(session.step, { readings, facts }, taken, got.model);
  // What was judged once is not taken back in silence: another reading is another attempt.
  const attempt = before === undefined ? 1 : before.judged === null ? before.attempt : before.attempt + 1;
  saveStep(db, {
    sessionId: session.id,
    step: session.step,
    attempt,
    readings,
    facts,
    judged,
    writtenAt: at,
    writtenBy: actor.id,
  });
  changeBenchSession(db, session.id, session.version, { at, asked: null });
  if (judged !== null) auditJudged(db, services, actor, session, judged, attempt);
  return { kind: "kept", judged: judged !== null };
}

function auditJudged(
  db: Database,
  services: Services,
  actor: StaffActor,
  session: BenchSessionRow,
  judged: JudgedStep,
  attempt: number,
): void {
  const count = (decision: string): number =>
    judged.lines.filter((line) => line.decision === decision).length;
  appendAudit(db, {
    at: services.clock.now(),
    actor,
    action: "judge-bench-step",
    subject: `bench-session:${session.id}`,
    detail: {
      step: session.step,
      attempt,
      pass: count("pass"),
      fail: count("fail"),
      notSettled: count("not-settled"),
    },
  });
}

/** null: the step needs eyes, and they weren't told. */
function withEyes(session: BenchSessionRow, facts: StepFacts, eye: SeenByEye): StepFacts | null {
  if (session.step === "battery") {
    if (facts.battery === undefined || eye.hazardSeen === undefined) return null;
    return { ...facts, battery: { ...facts.battery, hazardSeen: eye.hazardSeen } };
  }
  if (session.step === "cable-flex")
    return eye.flexSeen === undefined ? null : { ...facts, flexSeen: eye.flexSeen };
  return facts;
}

export function benchModelOf(db: Database, session: BenchSessionRow): BenchModel {
  const unit = unitBySerial(db, session.unitSerial);
  const model = unit === null ? null : modelById(db, unit.modelId);
  if (model === null) throw new Error(`${session.unitSerial} has lost its model`);
  const { rows, columns, pitch } = model;
  const absent = new Set(session.absentCells);
  return { rows, columns, pitchMillimetres: pitch, absent, tolerances: session.tolerances };
}
