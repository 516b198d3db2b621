import { index, sqliteTable, text } from "drizzle-orm/sqlite-core";
import type { CertificateSerial, LoanId, PairingCodeId, StaffId, UnitSerial } from "../../domain/ids.ts";
import { instantColumn } from "./columns.ts";
import { unit } from "./equipment.ts";
import { loan } from "./loans.ts";
import { staff } from "./staff.ts";

export const pairingCode = sqliteTable(
  "pairing_code",
  {
    /** The one-time id in the code (`jti`). */
    id: text("id").$type<PairingCodeId>().primaryKey(),
    loanId: text("loan_id")
      .$type<LoanId>()
      .notNull()
      .references(() => loan.id),
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
  (table) => [index("pairing_code_loan").on(table.loanId, table.issuedAt)],
);

export const certificate = sqliteTable(
  "certificate",
  {
    serial: text("serial").$type<CertificateSerial>().primaryKey(),
    unitSerial: text("unit_serial")
      .$type<UnitSerial>()
      .notNull()
      .references(() => unit.serial),
    loanId: text("loan_id")
      .$type<LoanId>()
      .notNull()
      .references(() => loan.id),
    keyThumbprint: text("key_thumbprint").notNull(),
    pem: text("pem").notNull(),
    issuedAt: instantColumn("issued_at").notNull(),
    expiresAt: instantColumn("expires_at").notNull(),
    revokedAt: instantColumn("revoked_at"),
    revokeReason: text("revoke_reason"),
  },
  (table) => [index("certificate_unit").on(table.unitSerial)],
);
