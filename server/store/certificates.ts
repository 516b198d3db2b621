import { and, asc, desc, eq, gt, inArray, isNotNull, isNull, lt, type SQL, sql } from "drizzle-orm";
import type { BenchSessionId, CertificateSerial, LoanId, UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { unitCommand } from "./schema/commands.ts";
import { certificate } from "./schema/enrolment.ts";
import { loan } from "./schema/loans.ts";

/** Only certificates in this table open the broker: one that was signed but never stored is worth nothing. */
export type StoredCertificate = typeof certificate.$inferSelect;

/** `loan-ended`: the unit goes back. `bench-ended`: its session at the bench is over. `taken-back`: recalled, lost or misused while on loan. `superseded`: the unit has
 *  enrolled anew, or used the certificate that was to replace this one. */
export type RevokeReason = "loan-ended" | "bench-ended" | "taken-back" | "superseded";

export function certificateBySerial(db: Database, serial: CertificateSerial): StoredCertificate | undefined {
  return db.select().from(certificate).where(eq(certificate.serial, serial)).get();
}

/** The certificate a unit may use now, whether or not it has run out. */
export function currentCertificateOf(db: Database, unit: UnitSerial): StoredCertificate | undefined {
  return db
    .select()
    .from(certificate)
    .where(and(eq(certificate.unitSerial, unit), isNull(certificate.revokedAt)))
    .orderBy(desc(certificate.issuedAt))
    .limit(1)
    .get();
}

/** Every certificate that could open a connection at `now`, newest first. */
export const usableCertificatesOf = (
  db: Database,
  unit: UnitSerial,
  now: Instant,
): readonly StoredCertificate[] =>
  db
    .select()
    .from(certificate)
    .where(
      and(eq(certificate.unitSerial, unit), isNull(certificate.revokedAt), gt(certificate.expiresAt, now)),
    )
    .orderBy(desc(certificate.issuedAt))
    .all();

/** A key is certified once (FP-12.3), whoever asks for it. */
export const certificateByKey = (db: Database, keyThumbprint: string): StoredCertificate | undefined =>
  db.select().from(certificate).where(eq(certificate.keyThumbprint, keyThumbprint)).get();

export interface EndingCertificate {
  readonly unit: UnitSerial;
  readonly expiresAt: Instant;
}

/** Units on loan whose last certificate, of those not revoked, ends before `before`; soonest first. Those that have
 *  ended already are among them: such a unit must enrol anew. */
export const certificatesEndingBefore = (db: Database, before: Instant): readonly EndingCertificate[] =>
  endingBefore(db, before);

const endingBefore = (db: Database, before: Instant, which?: SQL): readonly EndingCertificate[] =>
  db
    .select({ unit: certificate.unitSerial, expiresAt: sql<Instant>`max(${certificate.expiresAt})` })
    .from(certificate)
    .innerJoin(loan, eq(loan.id, certificate.loanId))
    .where(and(isNull(certificate.revokedAt), isNull(loan.endedAt), which))
    .groupBy(certificate.unitSerial)
    .having(lt(sql`max(${certificate.expiresAt})`, before))
    .orderBy(asc(sql`max(${certificate.expiresAt})`), asc(certificate.unitSerial))
    .all();

/** Certificates that were issued to take another's place and opened no connection yet: the unit may never have got one. */
const neverUsed = sql`(select json_extract(${unitCommand.body}, '$.renewal.certificate') from ${unitCommand}
  where ${unitCommand.kind} = 'renew-certificate' and json_extract(${unitCommand.body}, '$.renewal.certificate') is not null
  and json_extract(${unitCommand.body}, '$.renewal.usedAt') is null)`;

/** Units on loan whose certificate in use ends before `before`, though another may have been issued to them; soonest
 *  first, those that have ended already among them. */
export const certificatesInUseEndingBefore = (db: Database, before: Instant): readonly EndingCertificate[] =>
  endingBefore(db, before, sql`${certificate.serial} not in ${neverUsed}`);

/** A newer one has been used in their place. @returns those that were not revoked yet */
export const revokeReplaced = (
  db: Database,
  serials: readonly CertificateSerial[],
  at: Instant,
): readonly CertificateSerial[] => revoke(db, inArray(certificate.serial, [...serials]), at, "superseded");

export function addCertificate(db: Database, row: typeof certificate.$inferInsert): void {
  db.insert(certificate).values(row).run();
}

/** Call inside the transaction that ends the loan; after it commits, `services.live.changed("certificates")` makes the
 *  broker drop the open session. @returns the serials it revoked */
export function revokeCertificatesOfLoan(
  db: Database,
  loanId: LoanId,
  at: Instant,
  reason: RevokeReason,
): readonly CertificateSerial[] {
  return revoke(db, eq(certificate.loanId, loanId), at, reason);
}

export const revokeCertificatesOfBenchSession = (
  db: Database,
  session: BenchSessionId,
  at: Instant,
): readonly CertificateSerial[] => revoke(db, eq(certificate.benchSessionId, session), at, "bench-ended");

/** As `revokeCertificatesOfLoan`, for whatever loan the unit was on. */
export function revokeCertificatesOfUnit(
  db: Database,
  unit: UnitSerial,
  at: Instant,
  reason: RevokeReason,
): readonly CertificateSerial[] {
  return revoke(db, eq(certificate.unitSerial, unit), at, reason);
}

function revoke(db: Database, which: SQL, at: Instant, reason: RevokeReason): readonly CertificateSerial[] {
  return db
    .update(certificate)
    .set({ revokedAt: at, revokeReason: reason })
    .where(and(which, isNull(certificate.revokedAt)))
    .returning({ serial: certificate.serial })
    .all()
    .map((row) => row.serial);
}

export interface RevokedCertificate {
  readonly serial: CertificateSerial;
  readonly revokedAt: Instant;
  readonly reason: string | null;
}

/** For the revocation list: one that has run out by itself needs no mention.
 *  @param expiredBefore leaves out certificates whose time had run out by then */
export function revokedCertificates(db: Database, expiredBefore: Instant): readonly RevokedCertificate[] {
  const rows = db
    .select()
    .from(certificate)
    .where(and(isNotNull(certificate.revokedAt), gt(certificate.expiresAt, expiredBefore)))
    .orderBy(certificate.revokedAt, certificate.serial)
    .all();
  return rows.flatMap((row) =>
    row.revokedAt === null
      ? []
      : [{ serial: row.serial, revokedAt: row.revokedAt, reason: row.revokeReason }],
  );
}

/** Units that could open a connection at `now`. */
export const unitsWithUsableCertificate = (db: Database, now: Instant): readonly UnitSerial[] =>
  db
    .selectDistinct({ unit: certificate.unitSerial })
    .from(certificate)
    .where(and(isNull(certificate.revokedAt), gt(certificate.expiresAt, now)))
    .all()
    .map((row) => row.unit);
