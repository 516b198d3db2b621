import type { EnrolAnswer, EnrolRefusalReason, EnrolRequest } from "../../firmware-protocol/src/enrolment.ts";
import { decideClaim } from "../domain/enrolment/claim-decision.ts";
import { type PairingCodeId, unitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { benchSessionById } from "../store/bench-sessions.ts";
import { certificateBySerial, type StoredCertificate } from "../store/certificates.ts";
import type { Database } from "../store/database.ts";
import { loanById } from "../store/loans.ts";
import { type Joins, pairingCodeById, type StoredPairingCode } from "../store/pairing-codes.ts";
import { type VerifiedRequest, verifyRequest } from "./certificate-request.ts";
import { enrolAnswer } from "./enrol-answer.ts";
import type { Enrolment } from "./enrolment.ts";
import { findCode } from "./find-code.ts";
import { type ClaimRefused, refuseClaim } from "./refuse-claim.ts";
import { spendCode } from "./spend-code.ts";
import {
  benchCertificateLifetime,
  type IssuedCertificate,
  unitCertificateLifetime,
} from "./unit-certificate.ts";

export interface ClaimAccepted {
  readonly kind: "accepted";
  readonly answer: EnrolAnswer;
}

/** A unit claims its pairing code with a request for the key it has just made.
 *
 *  The slow work (signatures, a certificate signed in advance) happens first; then one transaction reads the code
 *  again, decides again, and either spends the code and stores the certificate or does neither. Of two claims racing
 *  the second therefore finds the code spent, and the certificate signed for it is never stored: to the broker it does
 *  not exist. */
export async function claimPairingCode(
  services: Services,
  enrolment: Enrolment,
  request: EnrolRequest,
  remoteAddress: string,
): Promise<ClaimAccepted | ClaimRefused> {
  const refuse = (reason: EnrolRefusalReason, code: StoredPairingCode | null, detail?: string) =>
    refuseClaim(services, { reason, code, claimedUnit: request.unit, remoteAddress, detail: detail ?? null });

  const found = await findCode(services, enrolment, request.code, remoteAddress);
  if (found.kind === "refused") return refuse(found.reason, null);
  const proof = await verifyRequest(request.certificateRequest, unitSerial(request.unit));
  const verified = typeof proof === "string" ? null : proof;
  const problem = typeof proof === "string" ? proof : undefined;

  const early = decide(services.db, services, found.code.id, request.unit, verified);
  if (early.kind === "refused") return refuse(early.reason, found.code, problem);
  const lifetime = found.code.joins.kind === "bench" ? benchCertificateLifetime : unitCertificateLifetime;
  const certificate =
    early.kind === "spend" ? await enrolment.authority.issue(early.verified, lifetime) : null;

  const outcome = services.db.transaction(
    (tx) => settle(tx, services, found.code.id, request.unit, verified, certificate),
    { behavior: "immediate" },
  );
  if (outcome.kind === "refused") return refuse(outcome.reason, found.code, problem);
  if (outcome.kind === "enrolled") tellThatUnitEnrolled(services, found.code);
  return { kind: "accepted", answer: enrolAnswer(services, enrolment, found.code, outcome.certificate) };
}

type Settled =
  | { readonly kind: "enrolled" | "same-again"; readonly certificate: StoredCertificate }
  | { readonly kind: "refused"; readonly reason: EnrolRefusalReason };

function settle(
  tx: Database,
  services: Services,
  id: PairingCodeId,
  claimedUnit: string,
  verified: VerifiedRequest | null,
  certificate: IssuedCertificate | null,
): Settled {
  const decision = decide(tx, services, id, claimedUnit, verified);
  switch (decision.kind) {
    case "refused":
      return decision;
    case "same-again":
      return { kind: "same-again", certificate: decision.certificate };
    case "spend":
      // A spent code never becomes unspent, so a certificate has been signed whenever the code can be spent.
      if (certificate === null) throw new Error(`pairing code ${id} came back to life`);
      return {
        kind: "enrolled",
        certificate: spendCode(tx, services.clock.now(), decision.code, decision.verified, certificate),
      };
  }
}

type Decided =
  | { readonly kind: "spend"; readonly code: StoredPairingCode; readonly verified: VerifiedRequest }
  | { readonly kind: "same-again"; readonly certificate: StoredCertificate }
  | { readonly kind: "refused"; readonly reason: EnrolRefusalReason };

/** Loads what the rules need, and lets them decide. */
function decide(
  db: Database,
  services: Services,
  id: PairingCodeId,
  claimedUnit: string,
  verified: VerifiedRequest | null,
): Decided {
  const code = pairingCodeById(db, id);
  if (code === undefined) throw new Error(`pairing code ${id} has lost its row`);
  const spentOn =
    code.certificateSerial === null ? undefined : certificateBySerial(db, code.certificateSerial);
  const decision = decideClaim(
    {
      code,
      joinedEndedAt: endOf(db, code.joins),
      certificateRevoked: spentOn !== undefined && spentOn.revokedAt !== null,
      claimedUnit,
      provedKey: verified?.keyThumbprint ?? null,
    },
    services.clock.now(),
  );
  if (decision.kind === "refused") return decision;
  if (decision.kind === "spend" && verified !== null) return { kind: "spend", code, verified };
  if (decision.kind === "same-again" && spentOn !== undefined)
    return { kind: "same-again", certificate: spentOn };
  throw new Error(`pairing code ${id} was spent on a certificate that is not there`);
}

/** @returns null while what it joins goes on */
function endOf(db: Database, joins: Joins): Instant | null {
  const joined = joins.kind === "loan" ? loanById(db, joins.loan) : benchSessionById(db, joins.session);
  if (joined === null) throw new Error(`${joins.reference} has a pairing code and is not there`);
  return joined.endedAt;
}

function tellThatUnitEnrolled({ live }: Services, { joins, unitSerial: unit }: StoredPairingCode): void {
  live.changed("certificates", `unit:${unit}`);
  if (joins.kind === "loan") live.changed("stores", `loan:${joins.loan}`);
}
