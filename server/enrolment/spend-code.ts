import type { Instant } from "../domain/units.ts";
import { appendAudit } from "../store/audit.ts";
import { addCertificate, revokeCertificatesOfUnit, type StoredCertificate } from "../store/certificates.ts";
import type { Database } from "../store/database.ts";
import { markPairingCodeSpent, type StoredPairingCode, startLoanOnce } from "../store/pairing-codes.ts";
import { setUnitPlace, unitBySerial } from "../store/units.ts";
import type { VerifiedRequest } from "./certificate-request.ts";
import { subjectOf } from "./code-subject.ts";
import type { IssuedCertificate } from "./unit-certificate.ts";

/** Everything an accepted claim changes. Call it inside the transaction that decided so.
 *  Any earlier certificate of the unit is revoked: one unit, one key. */
export function spendCode(
  tx: Database,
  now: Instant,
  code: StoredPairingCode,
  request: VerifiedRequest,
  issued: IssuedCertificate,
): StoredCertificate {
  const superseded = revokeCertificatesOfUnit(tx, code.unitSerial, now, "superseded");
  const certificate: StoredCertificate = {
    serial: issued.serial,
    unitSerial: code.unitSerial,
    loanId: code.joins.kind === "loan" ? code.joins.loan : null,
    benchSessionId: code.joins.kind === "bench" ? code.joins.session : null,
    keyThumbprint: request.keyThumbprint,
    pem: issued.pem,
    issuedAt: now,
    expiresAt: issued.expiresAt,
    revokedAt: null,
    revokeReason: null,
  };
  addCertificate(tx, certificate);
  const spent = { at: now, key: request.keyThumbprint, certificate: issued.serial };
  if (!markPairingCodeSpent(tx, code.id, spent)) throw new Error(`pairing code ${code.id} was spent twice`);
  if (code.joins.kind === "loan") {
    startLoanOnce(tx, code.joins.loan, now);
    placeUnitOnLoan(tx, code, now);
  }
  appendAudit(tx, {
    at: now,
    actor: { kind: "unit", serial: code.unitSerial },
    action: "enrol-unit",
    subject: subjectOf(code.joins),
    detail: { code: code.id, reference: code.joins.reference, certificate: issued.serial, superseded },
  });
  return certificate;
}

/** A unit that was waiting to go out is out now; one that is already out, or known missing, keeps its place. */
function placeUnitOnLoan(tx: Database, code: StoredPairingCode, now: Instant): void {
  const place = unitBySerial(tx, code.unitSerial)?.place;
  if (place === "in-stock" || place === "reserved") setUnitPlace(tx, code.unitSerial, "on-loan", now);
}
