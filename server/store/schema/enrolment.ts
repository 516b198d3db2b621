import { sql } from "drizzle-orm";
import { check, index, sqliteTable, text } from "drizzle-orm/sqlite-core";
import type {
  BenchSessionId,
  CertificateSerial,
  LoanId,
  PairingCodeId,
  StaffId,
  UnitSerial,
} from "../../domain/ids.ts";
import { benchSession } from "./bench.ts";
import { instantColumn } from "./columns.ts";
import { unit } from "./equipment.ts";
import { loan } from "./loans.ts";
import { staff } from "./staff.ts";

export const pairingCode = sqliteTable(
  "pairing_code",
  {
    /** The one-time id in the code (`jti`). */
    id: text("id").$type<PairingCodeId>().primaryKey(),
    /** What it lets the unit join: a loan, or a session at the bench that is nobody's record. */
    loanId: text("loan_id")
      .$type<LoanId>()
      .references(() => loan.id),
    benchSessionId: text("bench_session_id")
      .$type<BenchSessionId>()
      .references(() => benchSession.id),
    unitSerial: text("unit_serial")
      .$type<UnitSerial>()
      .notNull()
      .references(() => unit.serial),
    purpose: text("purpose").notNull(),
    issuedAt: instantColumn("issued_at").notNull(),
    expiresAt: instantColumn("expires_at").notNull(),
    issuedBy: text("issued_by")
      .$type<StaffId>()
      .notNull()
      .references(() => staff.id),
    /** SHA-256 of the typed fallback without its check digit's separators. */
    typedHash: text("typed_hash").notNull().unique(),
    withdrawnAt: instantColumn("withdrawn_at"),
    spentAt: instantColumn("spent_at"),
    /** RFC 7638-style SHA-256 thumbprint of the key that spent it. */
    spentByKey: text("spent_by_key"),
    certificateSerial: text("certificate_serial").$type<CertificateSerial>(),
  },
  (table) => [
    index("pairing_code_loan").on(table.loanId, table.issuedAt),
    index("pairing_code_bench").on(table.benchSessionId, table.issuedAt),
    check("pairing_code_for_one", sql`(loan_id is null) <> (bench_session_id is null)`),
  ],
);

export const certificate = sqliteTable(
  "certificate",
  {
    serial: text("serial").$type<CertificateSerial>().primaryKey(),
    unitSerial: text("unit_serial")
      .$type<UnitSerial>()
      .notNull()
      .references(() => unit.serial),
    /** What it lets the unit join: a loan, or a session at the bench that is nobody's record. */
    loanId: text("loan_id")
      .$type<LoanId>()
      .references(() => loan.id),
    benchSessionId: text("bench_session_id")
      .$type<BenchSessionId>()
      .references(() => benchSession.id),
    keyThumbprint: text("key_thumbprint").notNull(),
    pem: text("pem").notNull(),
    issuedAt: instantColumn("issued_at").notNull(),
    expiresAt: instantColumn("expires_at").notNull(),
    revokedAt: instantColumn("revoked_at"),
    revokeReason: text("revoke_reason"),
  },
  (table) => [
    index("certificate_unit").on(table.unitSerial),
    check("certificate_for_one", sql`(loan_id is null) <> (bench_session_id is null)`),
  ],
);
