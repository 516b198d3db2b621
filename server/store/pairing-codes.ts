import { and, desc, eq, gt, isNull, lte, sql } from "drizzle-orm";
import type { ReliefPlan } from "../domain/adherence/relief-plan.ts";
import type {
  BorrowerId,
  CertificateSerial,
  LoanId,
  PairingCodeId,
  StaffId,
  UnitSerial,
} from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { pairingCode } from "./schema/enrolment.ts";
import { loan, reliefPlan } from "./schema/loans.ts";

/** One pairing code as kept: everything its text can be made again from, and never the text itself. */
export interface StoredPairingCode {
  readonly id: PairingCodeId;
  readonly loanId: LoanId;
  readonly loanReference: string;
  readonly unitSerial: UnitSerial;
  readonly issuedAt: Instant;
  readonly expiresAt: Instant;
  readonly issuedBy: StaffId;
  readonly withdrawnAt: Instant | null;
  readonly spentAt: Instant | null;
  readonly spentByKey: string | null;
  readonly certificateSerial: CertificateSerial | null;
}

const columns = {
  id: pairingCode.id,
  loanId: pairingCode.loanId,
  loanReference: loan.reference,
  unitSerial: pairingCode.unitSerial,
  issuedAt: pairingCode.issuedAt,
  expiresAt: pairingCode.expiresAt,
  issuedBy: pairingCode.issuedBy,
  withdrawnAt: pairingCode.withdrawnAt,
  spentAt: pairingCode.spentAt,
  spentByKey: pairingCode.spentByKey,
  certificateSerial: pairingCode.certificateSerial,
};

const storedCodes = (db: Database) =>
  db.select(columns).from(pairingCode).innerJoin(loan, eq(loan.id, pairingCode.loanId));

export function pairingCodeById(db: Database, id: PairingCodeId): StoredPairingCode | undefined {
  return storedCodes(db).where(eq(pairingCode.id, id)).get();
}

export function pairingCodeByTypedHash(db: Database, typedHash: string): StoredPairingCode | undefined {
  return storedCodes(db).where(eq(pairingCode.typedHash, typedHash)).get();
}

/** Newest first. */
export function pairingCodesOfLoan(db: Database, loanId: LoanId): readonly StoredPairingCode[] {
  return (
    storedCodes(db)
      .where(eq(pairingCode.loanId, loanId))
      // Two codes of one millisecond are told apart by the order in which they were stored.
      .orderBy(desc(pairingCode.issuedAt), sql`${pairingCode}.rowid desc`)
      .all()
  );
}

export function addPairingCode(db: Database, row: typeof pairingCode.$inferInsert): void {
  db.insert(pairingCode).values(row).run();
}

const neitherSpentNorWithdrawn = and(isNull(pairingCode.spentAt), isNull(pairingCode.withdrawnAt));

/** Withdraws every code of a loan that could still be claimed. @returns their ids: one at most, in practice */
export function withdrawUnspentCodesOfLoan(
  db: Database,
  loanId: LoanId,
  at: Instant,
): readonly PairingCodeId[] {
  return db
    .update(pairingCode)
    .set({ withdrawnAt: at })
    .where(and(eq(pairingCode.loanId, loanId), neitherSpentNorWithdrawn, gt(pairingCode.expiresAt, at)))
    .returning({ id: pairingCode.id })
    .all()
    .map((row) => row.id);
}

export function markPairingCodeWithdrawn(db: Database, id: PairingCodeId, at: Instant): void {
  db.update(pairingCode)
    .set({ withdrawnAt: at })
    .where(and(eq(pairingCode.id, id), neitherSpentNorWithdrawn))
    .run();
}

/** @returns false when the code had already been spent or withdrawn: then nothing changed. */
export function markPairingCodeSpent(
  db: Database,
  id: PairingCodeId,
  by: { readonly at: Instant; readonly key: string; readonly certificate: CertificateSerial },
): boolean {
  const change = { spentAt: by.at, spentByKey: by.key, certificateSerial: by.certificate };
  return (
    db
      .update(pairingCode)
      .set(change)
      .where(and(eq(pairingCode.id, id), neitherSpentNorWithdrawn))
      .run().changes === 1
  );
}

/** Of the plans already valid the latest version. */
export function planToFollow(db: Database, borrower: BorrowerId, now: Instant): ReliefPlan | undefined {
  return db
    .select({
      version: reliefPlan.version,
      validFrom: reliefPlan.validFrom,
      interval: reliefPlan.interval,
      hold: reliefPlan.hold,
      kinds: reliefPlan.kinds,
    })
    .from(reliefPlan)
    .where(and(eq(reliefPlan.borrowerId, borrower), lte(reliefPlan.validFrom, now)))
    .orderBy(desc(reliefPlan.version))
    .limit(1)
    .get();
}

/** The first enrolment begins the loan; a later one, after a repair say, does not begin it again. */
export function startLoanOnce(db: Database, loanId: LoanId, at: Instant): void {
  db.update(loan)
    .set({ startedAt: at })
    .where(and(eq(loan.id, loanId), isNull(loan.startedAt)))
    .run();
}
