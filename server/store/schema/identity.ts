import { index, integer, sqliteTable, text } from "drizzle-orm/sqlite-core";
import type { IdentityTroubleKind } from "../../domain/identity-trouble/identity-trouble.ts";
import type { Lay } from "../../domain/identity-trouble/lay.ts";
import type {
  IdentityQuestionId,
  LoanId,
  PrivacyIncidentId,
  ReattributionId,
  StaffId,
  UnitSerial,
} from "../../domain/ids.ts";
import { instantColumn } from "./columns.ts";
import { unit } from "./equipment.ts";
import { loan } from "./loans.ts";
import { staff } from "./staff.ts";

/** Whose record is this? Asked by the console, answered by a person or withdrawn. */
export const identityQuestion = sqliteTable(
  "identity_question",
  {
    id: text("id").$type<IdentityQuestionId>().primaryKey(),
    kind: text("kind").$type<IdentityTroubleKind>().notNull(),
    loanId: text("loan_id")
      .$type<LoanId>()
      .notNull()
      .references(() => loan.id),
    /** The loan it seems to have changed places with. */
    otherLoanId: text("other_loan_id")
      .$type<LoanId>()
      .references(() => loan.id),
    startsAt: instantColumn("starts_at").notNull(),
    /** null: goes on. */
    endsAt: instantColumn("ends_at"),
    foundAt: instantColumn("found_at").notNull(),
    probability: integer("probability_ppm").notNull(),
    /** What was seen, a sentence each. */
    evidence: text("evidence", { mode: "json" }).$type<readonly string[]>().notNull(),
    /** null: nobody has answered yet; withdrawn: the console takes it back, for the unit explains it. */
    answer: text("answer").$type<"confirmed" | "rejected" | "withdrawn">(),
    reason: text("reason"),
    answeredBy: text("answered_by")
      .$type<StaffId>()
      .references(() => staff.id),
    answeredAt: instantColumn("answered_at"),
  },
  (table) => [index("identity_question_loan").on(table.loanId, table.startsAt)],
);

/** What a unit recorded in `starts_at` to `ends_at` while on `from_loan` belongs to another loan, or to nobody; or it is
 *  this loan's, of a cushion that lay otherwise than meant (`lay`, from and to the same loan). The raw record is not touched; undoing it is another pair of columns, so that both stay visible. */
export const reattribution = sqliteTable(
  "reattribution",
  {
    id: text("id").$type<ReattributionId>().primaryKey(),
    questionId: text("question_id")
      .$type<IdentityQuestionId>()
      .notNull()
      .references(() => identityQuestion.id),
    unitSerial: text("unit_serial")
      .$type<UnitSerial>()
      .notNull()
      .references(() => unit.serial),
    fromLoanId: text("from_loan_id")
      .$type<LoanId>()
      .notNull()
      .references(() => loan.id),
    /** null: nobody's. */
    toLoanId: text("to_loan_id")
      .$type<LoanId>()
      .references(() => loan.id),
    /** Nobody's until the clinician of that loan, a colleague's person's, has confirmed that it is theirs. */
    offeredTo: text("offered_to")
      .$type<LoanId>()
      .references(() => loan.id),
    /** null: as it was recorded. */
    lay: text("lay").$type<Lay>(),
    startsAt: instantColumn("starts_at").notNull(),
    endsAt: instantColumn("ends_at").notNull(),
    doneBy: text("done_by")
      .$type<StaffId>()
      .notNull()
      .references(() => staff.id),
    doneAt: instantColumn("done_at").notNull(),
    undoneBy: text("undone_by")
      .$type<StaffId>()
      .references(() => staff.id),
    undoneAt: instantColumn("undone_at"),
  },
  (table) => [
    index("reattribution_from").on(table.fromLoanId),
    index("reattribution_to").on(table.toLoanId),
    index("reattribution_unit").on(table.unitSerial),
  ],
);

/** A record stood under the wrong name: opened when a mix-up is confirmed, closed by who was told. Taking the answer back
 *  does not close it. */
export const privacyIncident = sqliteTable(
  "privacy_incident",
  {
    id: text("id").$type<PrivacyIncidentId>().primaryKey(),
    questionId: text("question_id")
      .$type<IdentityQuestionId>()
      .notNull()
      .references(() => identityQuestion.id),
    loanId: text("loan_id")
      .$type<LoanId>()
      .notNull()
      .references(() => loan.id),
    /** null: whose record it was is not known. */
    otherLoanId: text("other_loan_id")
      .$type<LoanId>()
      .references(() => loan.id),
    openedBy: text("opened_by")
      .$type<StaffId>()
      .notNull()
      .references(() => staff.id),
    openedAt: instantColumn("opened_at").notNull(),
    /** Who was told, and what was decided. null: open. */
    outcome: text("outcome"),
    closedBy: text("closed_by")
      .$type<StaffId>()
      .references(() => staff.id),
    closedAt: instantColumn("closed_at"),
  },
  (table) => [
    index("privacy_incident_loan").on(table.loanId),
    index("privacy_incident_other").on(table.otherLoanId),
  ],
);
