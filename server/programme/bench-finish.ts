import { newId } from "../chance.ts";
import { type CertificateContent, certificateContent } from "../domain/bench/certificate.ts";
import { contradictionIn, type FaultCode, type Part } from "../domain/bench/coding.ts";
import { cellsOf, emptyMapOf, type StepsTaken } from "../domain/bench/judge-step.ts";
import { choicesFor, standingOf } from "../domain/bench/outcome.ts";
import { type BenchOutcome, outcomeWords } from "../domain/bench/session.ts";
import { conditionOf } from "../domain/condition/condition-of.ts";
import { inGroups, typedCodeFrom } from "../domain/enrolment/typed-code.ts";
import { codingId } from "../domain/ids.ts";
import type { Place } from "../domain/lifecycle/place.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { Instant } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { insertBaseline, insertBenchCertificate } from "../store/bench-results.ts";
import { type BenchSessionRow, benchSessionById, changeBenchSession } from "../store/bench-sessions.ts";
import { latestStepsOf } from "../store/bench-steps.ts";
import type { Database } from "../store/database.ts";
import { insertCoding, insertPartChange } from "../store/fault-codings.ts";
import { clearFinding, openFindingsOf } from "../store/findings.ts";
import { recallsBarringIssue } from "../store/recalls.ts";
import { saveAssessment } from "../store/unit-assessments.ts";
import { setUnitPlace, unitBySerial } from "../store/units.ts";
import { endConnection } from "./bench-connection.ts";
import { forgettingOfUnit } from "./bench-forget.ts";
import { type HoldRule, heldSession, type SessionSeen } from "./bench-held.ts";
import { benchModelOf } from "./bench-keep.ts";
import type { StaffActor } from "./staff-actor.ts";

export interface FinishRequest {
  readonly outcome: BenchOutcome;
  readonly code: FaultCode;
  readonly parts: readonly { readonly part: Part; readonly fitted: string | null }[];
  readonly note: string | null;
}

/** Signs what a certificate says with the programme's key. */
export type SignCertificate = (content: CertificateContent) => Promise<string>;

export type FinishRule = HoldRule | "outcome-not-open" | "codes-contradict" | "nothing-to-repair" | "say-why";

export interface Finished {
  readonly kind: "finished";
  readonly certificate: string | null;
  readonly place: Place;
}

const passes = (outcome: BenchOutcome): boolean => outcome === "pass" || outcome === "pass-masked";

/** Ends a session with what it has shown. A pass stores the baseline and the cells that don't count, closes the unit's
 *  findings and issues a certificate; each outcome moves the unit to where it belongs. */
export async function finishSession(
  services: Services,
  actor: StaffActor,
  seen: SessionSeen,
  request: FinishRequest,
  sign: SignCertificate,
): Promise<Finished | Refused<FinishRule>> {
  const session = benchSessionById(services.db, seen.session);
  if (session === null) return refused("unknown-session", "There is no such session.");
  const taken = latestStepsOf(services.db, session.id);
  const against = reasonAgainst(services.db, session, taken, request);
  if (against !== null) return against;
  const at = services.clock.now();
  const issued = passes(request.outcome)
    ? await certify(services, session, taken, request, { at, sign })
    : null;
  // Signing took a moment: the transaction asks again whether the session is still as it was seen.
  const outcome = services.db.transaction(
    (tx): Finished | Refused<FinishRule> => {
      const held = heldSession(tx, actor.id, seen);
      if (held.kind === "refused") return held;
      changeBenchSession(tx, session.id, seen.version, {
        at,
        state: "finished",
        asked: null,
        outcome: request.outcome,
        note: request.note,
        endedAt: at,
      });
      endConnection(tx, session.id, at);
      writeCoding(services, tx, actor, session, request, at);
      const place = placeAfter(tx, session, request.outcome);
      if (place !== unitBySerial(tx, session.unitSerial)?.place)
        setUnitPlace(tx, session.unitSerial, place, at);
      if (issued !== null) {
        insertBenchCertificate(tx, {
          code: issued.code,
          sessionId: session.id,
          issuedAt: at,
          jws: issued.jws,
        });
        writeBaseline(tx, session, taken);
        closeFindings(tx, session, at);
      }
      appendAudit(tx, {
        at,
        actor,
        action: "finish-bench-session",
        subject: `bench-session:${session.id}`,
        detail: {
          unit: session.unitSerial,
          outcome: request.outcome,
          ...request.code,
          parts: request.parts.map(({ part }) => part),
          masked: standingOf(taken).masked.length,
          certificate: issued?.code ?? null,
          place,
        },
      });
      return { kind: "finished", certificate: issued?.code ?? null, place };
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "finished")
    services.live.changed("bench", "stores", "certificates", `unit:${session.unitSerial}`);
  return outcome;
}

function reasonAgainst(
  db: Database,
  session: BenchSessionRow,
  taken: StepsTaken,
  { outcome, code, note }: FinishRequest,
): Refused<FinishRule> | null {
  const model = benchModelOf(db, session);
  const forgetting = forgettingOfUnit(db, session.unitSerial);
  const choice = choicesFor(
    standingOf(taken),
    cellsOf(model),
    session.tolerances.maskedShare,
    forgetting,
  ).find((each) => each.outcome === outcome);
  if (choice !== undefined && choice.against.length > 0)
    return refused("outcome-not-open", `“${outcomeWords[outcome]}” isn’t open: ${choice.against.join(" ")}`);
  const contradiction = contradictionIn(code);
  if (contradiction !== null) return refused("codes-contradict", contradiction);
  if (outcome === "repair" && code.seen === "nothing-found")
    return refused("nothing-to-repair", "Say what is to be repaired: under “seen” there is nothing yet.");
  if (outcome === "retire" && note === null)
    return refused("say-why", "Write down why it is retired: nothing comes back from there.");
  return null;
}

async function certify(
  services: Services,
  session: BenchSessionRow,
  taken: StepsTaken,
  request: FinishRequest,
  { at, sign }: { readonly at: Instant; readonly sign: SignCertificate },
) {
  const unit = unitBySerial(services.db, session.unitSerial);
  if (unit === null) throw new Error(`${session.unitSerial} is not there`);
  const seed = Buffer.from(services.chance.bytes(32)).toString("hex");
  const code = inGroups(typedCodeFrom(BigInt(`0x${seed}`)));
  const content = certificateContent({
    code,
    session: session.reference,
    unit: { serial: unit.serial, model: `${unit.modelName}, ${unit.size}`, lot: unit.lotId },
    outcome: request.outcome,
    grid: benchModelOf(services.db, session),
    startedAt: session.startedAt,
    at,
    taken,
    forgetting: forgettingOfUnit(services.db, unit.serial),
  });
  return { code, jws: await sign(content) };
}

function placeAfter(db: Database, session: BenchSessionRow, outcome: BenchOutcome): Place {
  const now = unitBySerial(db, session.unitSerial)?.place ?? "on-the-bench";
  if (outcome === "retire") return "retired";
  if (outcome === "repair" || now !== "on-the-bench") return now;
  // The bench may clear a recalled unit's faults; only its recall lets it into stock.
  return (recallsBarringIssue(db).get(session.unitSerial) ?? []).length > 0 ? now : "in-stock";
}

function writeCoding(
  services: Services,
  tx: Database,
  actor: StaffActor,
  session: BenchSessionRow,
  { code, parts, note }: FinishRequest,
  at: Instant,
): void {
  const id = codingId(newId(services.chance, "coding"));
  const { unitSerial } = session;
  insertCoding(tx, { id, unitSerial, sessionId: session.id, ...code, note, codedAt: at, codedBy: actor.id });
  for (const { part, fitted } of parts)
    insertPartChange(tx, { unitSerial, codingId: id, part, fitted, changedAt: at, changedBy: actor.id });
}

function writeBaseline(tx: Database, session: BenchSessionRow, taken: StepsTaken): void {
  const [reading] = taken.get("empty-map")?.readings ?? [];
  const empty = emptyMapOf(taken);
  if (reading === undefined || empty === null)
    throw new Error(`${session.reference} passed without an empty map`);
  insertBaseline(tx, {
    sessionId: session.id,
    unitSerial: session.unitSerial,
    takenAt: reading.takenAt,
    rows: reading.rows,
    columns: reading.columns,
    empty,
    countsPerKilogram: session.tolerances.countsPerKilogram,
    temperature: reading.temperature,
    masked: standingOf(taken).masked,
  });
}

/** What the unit showed before the bench is over; what it shows from now on is compared with the new baseline. */
function closeFindings(tx: Database, { unitSerial }: BenchSessionRow, at: Instant): void {
  for (const { id } of openFindingsOf(tx, unitSerial)) clearFinding(tx, id, at);
  saveAssessment(tx, {
    unitSerial,
    assessedAt: at,
    ...conditionOf([]),
    visibility: null,
    capacityTold: false,
  });
}
