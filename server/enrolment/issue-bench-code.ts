import { newId } from "../chance.ts";
import { type BenchSessionId, type PairingCodeId, pairingCodeId, type StaffId } from "../domain/ids.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import { type Instant, instant, millisecondsIn } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { benchSessionById } from "../store/bench-sessions.ts";
import type { Database } from "../store/database.ts";
import { openLoanOfUnit } from "../store/loans.ts";
import {
  addPairingCode,
  pairingCodeById,
  type StoredPairingCode,
  withdrawUnspentCodesOfBenchSession,
} from "../store/pairing-codes.ts";
import type { Enrolment } from "./enrolment.ts";
import { type PairingCodeText, pairingCodeText } from "./pairing-code-text.ts";
import { benchPurpose } from "./pairing-token.ts";
import { typedFormHash, typedFormOf } from "./typed-form.ts";

export interface IssuedBenchCode extends PairingCodeText {
  readonly kind: "issued";
  readonly id: PairingCodeId;
  readonly expiresAt: Instant;
}

export type BenchCodeRule = "unknown-session" | "session-over" | "on-loan";

/** The unit lies beside the screen that shows the code. Assumption. */
const lifetime = 2 * millisecondsIn.hour;

/** Issues a code that lets the unit of an open session connect from the bench. What it sends then happens outside every
 *  loan, and so is part of nobody's record. */
export async function issueBenchCode(
  services: Services,
  enrolment: Enrolment,
  actor: { readonly id: StaffId },
  session: BenchSessionId,
): Promise<IssuedBenchCode | Refused<BenchCodeRule>> {
  const outcome = services.db.transaction((tx) => issueWithin(tx, services, enrolment, actor.id, session), {
    behavior: "immediate",
  });
  if (outcome.kind === "refused") return outcome;
  services.live.changed(`unit:${outcome.code.unitSerial}`);
  const text = await pairingCodeText(enrolment, outcome.code);
  return { kind: "issued", id: outcome.code.id, expiresAt: outcome.code.expiresAt, ...text };
}

function issueWithin(
  db: Database,
  services: Services,
  enrolment: Enrolment,
  by: StaffId,
  id: BenchSessionId,
): { readonly kind: "stored"; readonly code: StoredPairingCode } | Refused<BenchCodeRule> {
  const now = services.clock.now();
  const session = benchSessionById(db, id);
  if (session === null) return refused("unknown-session", "There is no such session.");
  if (session.state !== "open") return refused("session-over", `${session.reference} is over.`);
  if (openLoanOfUnit(db, session.unitSerial) !== null)
    return refused("on-loan", "It is on loan: what it sends belongs to that record. End the loan first.");
  const replaced = withdrawUnspentCodesOfBenchSession(db, id, now);
  const codeId = pairingCodeId(newId(services.chance, "pc"));
  const expiresAt = instant(now - (now % millisecondsIn.second) + lifetime);
  addPairingCode(db, {
    id: codeId,
    benchSessionId: id,
    unitSerial: session.unitSerial,
    purpose: benchPurpose,
    issuedAt: now,
    expiresAt,
    issuedBy: by,
    typedHash: typedFormHash(typedFormOf(codeId, enrolment.typedKey)),
  });
  appendAudit(db, {
    at: now,
    actor: { kind: "staff", id: by },
    action: "issue-bench-code",
    subject: `bench-session:${id}`,
    detail: { code: codeId, reference: session.reference, unit: session.unitSerial, expiresAt, replaced },
  });
  const code = pairingCodeById(db, codeId);
  if (code === undefined) throw new Error(`pairing code ${codeId} was stored and is not there`);
  return { kind: "stored", code };
}
