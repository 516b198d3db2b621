import { and, desc, eq, gt, isNull, lte, type SQL, sql } from "drizzle-orm";
import type { ReliefPlan } from "../domain/adherence/relief-plan.ts";
import type {
  BenchSessionId,
  BorrowerId,
  CertificateSerial,
  LoanId,
  PairingCodeId,
  StaffId,
  UnitSerial,
} from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { Database } from "./database.ts";
import { benchSession } from "./schema/bench.ts";
import { pairingCode } from "./schema/enrolment.ts";
import { loan, reliefPlan } from "./schema/loans.ts";

/** What a code lets its unit join. At the bench its messages belong to nobody's record. */
export type Joins =
  | { readonly kind: "loan"; readonly loan: LoanId; readonly reference: string }
  | { readonly kind: "bench"; readonly session: BenchSessionId; readonly reference: string };

/** One pairing code as kept: everything its text can be made again from, and never the text itself. */
export interface StoredPairingCode {
  readonly id: PairingCodeId;
  readonly joins: Joins;
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
  benchSessionId: pairingCode.benchSessionId,
  benchReference: benchSession.reference,
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
  db
    .select(columns)
    .from(pairingCode)
    .leftJoin(loan, eq(loan.id, pairingCode.loanId))
    .leftJoin(benchSession, eq(benchSession.id, pairingCode.benchSessionId));

type CodeColumns = ReturnType<ReturnType<typeof storedCodes>["all"]>[number];

const storedCode = ({
  loanId,
  loanReference,
  benchSessionId,
  benchReference,
  ...code
}: CodeColumns): StoredPairingCode => {
  if (loanId !== null && loanReference !== null)
    return { ...code, joins: { kind: "loan", loan: loanId, reference: loanReference } };
  if (benchSessionId !== null && benchReference !== null)
    return { ...code, joins: { kind: "bench", session: benchSessionId, reference: benchReference } };
  throw new Error(`pairing code ${code.id} has lost what it joins`);
};

const found = (row: CodeColumns | undefined): StoredPairingCode | undefined =>
  row === undefined ? undefined : storedCode(row);

export function pairingCodeById(db: Database, id: PairingCodeId): StoredPairingCode | undefined {
  return found(storedCodes(db).where(eq(pairingCode.id, id)).get());
}

export function pairingCodeByTypedHash(db: Database, typedHash: string): StoredPairingCode | undefined {
  return found(storedCodes(db).where(eq(pairingCode.typedHash, typedHash)).get());
}

/** Newest first. */
export const pairingCodesOfLoan = (db: Database, loanId: LoanId): readonly StoredPairingCode[] =>
  newestFirst(db, eq(pairingCode.loanId, loanId));

/** Newest first. */
export const pairingCodesOfBenchSession = (
  db: Database,
  session: BenchSessionId,
): readonly StoredPairingCode[] => newestFirst(db, eq(pairingCode.benchSessionId, session));

const newestFirst = (db: Database, which: SQL): readonly StoredPairingCode[] =>
  storedCodes(db)
    .where(which)
    // Two codes of one millisecond are told apart by the order in which they were stored.
    .orderBy(desc(pairingCode.issuedAt), sql`${pairingCode}.rowid desc`)
    .all()
    .map(storedCode);

export function addPairingCode(db: Database, row: typeof pairingCode.$inferInsert): void {
  db.insert(pairingCode).values(row).run();
}

const neitherSpentNorWithdrawn = and(isNull(pairingCode.spentAt), isNull(pairingCode.withdrawnAt));

/** Withdraws every code of a loan that could still be claimed. @returns their ids: one at most, in practice */
export const withdrawUnspentCodesOfLoan = (
  db: Database,
  loanId: LoanId,
  at: Instant,
): readonly PairingCodeId[] => withdrawUnspent(db, eq(pairingCode.loanId, loanId), at);

export const withdrawUnspentCodesOfBenchSession = (
  db: Database,
  session: BenchSessionId,
  at: Instant,
): readonly PairingCodeId[] => withdrawUnspent(db, eq(pairingCode.benchSessionId, session), at);

const withdrawUnspent = (db: Database, which: SQL, at: Instant): readonly PairingCodeId[] =>
  db
    .update(pairingCode)
    .set({ withdrawnAt: at })
    .where(and(which, neitherSpentNorWithdrawn, gt(pairingCode.expiresAt, at)))
    .returning({ id: pairingCode.id })
    .all()
    .map((row) => row.id);

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
