import { sql } from "drizzle-orm";
import {
  blob,
  check,
  index,
  integer,
  primaryKey,
  sqliteTable,
  text,
  uniqueIndex,
} from "drizzle-orm/sqlite-core";
import type { Role } from "../domain/access/roles.ts";
import type { CommandAnswer, CommandKind, CommandState, SelfTestFound } from "../domain/commands/command.ts";
import type { ConditionLevel, FindingKind } from "../domain/condition/condition.ts";
import type {
  BorrowerId,
  CertificateSerial,
  CommandId,
  FindingId,
  LoanId,
  LotId,
  ModelId,
  NoteId,
  PairingCodeId,
  PlanId,
  RecallId,
  StaffId,
  StretchId,
  UnitSerial,
  VerdictId,
  VisitId,
} from "../domain/ids.ts";
import type { Place } from "../domain/lifecycle/place.ts";
import type { ReliefKind } from "../domain/record/unit-record.ts";
import type { LocalDay } from "../domain/time/local-day.ts";
import type { Instant, Kilograms, MilliampHours, Millimetres, Minutes, Seconds } from "../domain/units.ts";
import type { Side, StretchKind, Verdict } from "../domain/verdicts/verdict.ts";

const instantColumn = (name: string) => integer(name).$type<Instant>();

// --- People who work here ---------------------------------------------------------------------------------------

export const staff = sqliteTable("staff", {
  id: text("id").$type<StaffId>().primaryKey(),
  /** What they sign in with, lower case. */
  login: text("login").notNull().unique(),
  name: text("name").notNull(),
  role: text("role").$type<Role>().notNull(),
  /** argon2id, in its standard encoded form; null until an invitation is taken up. */
  passwordHash: text("password_hash"),
  createdAt: instantColumn("created_at").notNull(),
  disabledAt: instantColumn("disabled_at"),
});

export const session = sqliteTable("session", {
  /** SHA-256 of the cookie's token: the table alone opens nothing. */
  tokenHash: text("token_hash").primaryKey(),
  staffId: text("staff_id")
    .$type<StaffId>()
    .notNull()
    .references(() => staff.id),
  csrfToken: text("csrf_token").notNull(),
  createdAt: instantColumn("created_at").notNull(),
  lastSeenAt: instantColumn("last_seen_at").notNull(),
  expiresAt: instantColumn("expires_at").notNull(),
});

/** A one-time link: the first administrator's set-up, or an invitation to choose a password. */
export const invitation = sqliteTable("invitation", {
  tokenHash: text("token_hash").primaryKey(),
  /** null: sets up the first administrator. */
  staffId: text("staff_id")
    .$type<StaffId>()
    .references(() => staff.id),
  createdAt: instantColumn("created_at").notNull(),
  expiresAt: instantColumn("expires_at").notNull(),
  usedAt: instantColumn("used_at"),
});

/** Counts of attempts within a window, kept across restarts so that a restart doesn't reset a guesser's budget. */
export const throttle = sqliteTable("throttle", {
  key: text("key").primaryKey(),
  windowStart: instantColumn("window_start").notNull(),
  attempts: integer("attempts").notNull(),
});

export const setting = sqliteTable("setting", {
  name: text("name").primaryKey(),
  value: text("value").notNull(),
  changedAt: instantColumn("changed_at").notNull(),
  changedBy: text("changed_by")
    .$type<StaffId>()
    .notNull()
    .references(() => staff.id),
});

/** Append-only; each row's hash covers the row before it. */
export const audit = sqliteTable(
  "audit",
  {
    id: integer("id").primaryKey({ autoIncrement: true }),
    at: instantColumn("at").notNull(),
    /** A staff id, `unit:<serial>` or `system`. */
    actor: text("actor").notNull(),
    action: text("action").notNull(),
    subject: text("subject").notNull(),
    detail: text("detail", { mode: "json" }).$type<Record<string, unknown>>().notNull(),
    previousHash: text("previous_hash").notNull(),
    hash: text("hash").notNull(),
  },
  (table) => [index("audit_subject").on(table.subject, table.id)],
);

// --- Equipment ---------------------------------------------------------------------------------------------------

export const model = sqliteTable("model", {
  id: text("id").$type<ModelId>().primaryKey(),
  name: text("name").notNull(),
  size: text("size").notNull(),
  width: integer("width_mm").$type<Millimetres>().notNull(),
  depth: integer("depth_mm").$type<Millimetres>().notNull(),
  weightLimit: integer("weight_limit_kg").$type<Kilograms>().notNull(),
  rows: integer("grid_rows").notNull(),
  columns: integer("grid_columns").notNull(),
  pitch: integer("grid_pitch_mm").$type<Millimetres>().notNull(),
  ratedCapacity: integer("rated_capacity_mah").$type<MilliampHours>().notNull(),
});

export const lot = sqliteTable("lot", {
  id: text("id").$type<LotId>().primaryKey(),
  modelId: text("model_id")
    .$type<ModelId>()
    .notNull()
    .references(() => model.id),
  receivedAt: instantColumn("received_at").notNull(),
});

export const unit = sqliteTable(
  "unit",
  {
    serial: text("serial").$type<UnitSerial>().primaryKey(),
    modelId: text("model_id")
      .$type<ModelId>()
      .notNull()
      .references(() => model.id),
    lotId: text("lot_id")
      .$type<LotId>()
      .notNull()
      .references(() => lot.id),
    place: text("place").$type<Place>().notNull(),
    placeSince: instantColumn("place_since").notNull(),
    /** As last reported by the unit itself. */
    firmware: text("firmware"),
    hardware: text("hardware"),
    lastHeardAt: instantColumn("last_heard_at"),
  },
  (table) => [index("unit_place").on(table.place), index("unit_lot").on(table.lotId)],
);

// --- Loans -------------------------------------------------------------------------------------------------------

export const borrower = sqliteTable(
  "borrower",
  {
    id: text("id").$type<BorrowerId>().primaryKey(),
    name: text("name").notNull(),
    area: text("area").notNull(),
    address: text("address").notNull(),
    phone: text("phone").notNull(),
    weight: integer("weight_kg").$type<Kilograms>().notNull(),
    seatWidth: integer("seat_width_mm").$type<Millimetres>().notNull(),
    seatDepth: integer("seat_depth_mm").$type<Millimetres>().notNull(),
    clinicianId: text("clinician_id")
      .$type<StaffId>()
      .notNull()
      .references(() => staff.id),
    createdAt: instantColumn("created_at").notNull(),
  },
  (table) => [index("borrower_clinician").on(table.clinicianId)],
);

/** Versions by date: the plan in force when a minute happened is the one that judges it. */
export const reliefPlan = sqliteTable(
  "relief_plan",
  {
    id: text("id").$type<PlanId>().primaryKey(),
    borrowerId: text("borrower_id")
      .$type<BorrowerId>()
      .notNull()
      .references(() => borrower.id),
    version: integer("version").notNull(),
    validFrom: instantColumn("valid_from").notNull(),
    interval: integer("interval_minutes").$type<Minutes>().notNull(),
    hold: integer("hold_seconds").$type<Seconds>().notNull(),
    kinds: text("kinds", { mode: "json" }).$type<readonly ReliefKind[]>().notNull(),
    setBy: text("set_by")
      .$type<StaffId>()
      .notNull()
      .references(() => staff.id),
  },
  (table) => [uniqueIndex("relief_plan_version").on(table.borrowerId, table.version)],
);

/** A unit's time with one borrower. A swap ends one loan and opens the next, which names what it follows. */
export const loan = sqliteTable(
  "loan",
  {
    id: text("id").$type<LoanId>().primaryKey(),
    /** What is written on paper: `L-0042`. */
    reference: text("reference").notNull().unique(),
    unitSerial: text("unit_serial")
      .$type<UnitSerial>()
      .notNull()
      .references(() => unit.serial),
    borrowerId: text("borrower_id")
      .$type<BorrowerId>()
      .notNull()
      .references(() => borrower.id),
    openedAt: instantColumn("opened_at").notNull(),
    /** When the unit was enrolled at the borrower's: data before this are not the borrower's. null: not yet. */
    startedAt: instantColumn("started_at"),
    dueBackOn: text("due_back_on").$type<LocalDay>(),
    endedAt: instantColumn("ended_at"),
    endReason: text("end_reason"),
    followsLoanId: text("follows_loan_id").$type<LoanId>(),
  },
  (table) => [
    index("loan_unit").on(table.unitSerial, table.openedAt),
    index("loan_borrower").on(table.borrowerId, table.openedAt),
    // A unit can be on one open loan only, whatever two people press at once.
    uniqueIndex("loan_one_open_per_unit").on(table.unitSerial).where(sql`ended_at is null`),
  ],
);

export const loanNoteKinds = [
  "hospital",
  "holiday",
  "new-chair",
  "washed-cover",
  "visit",
  "call",
  "other",
] as const;
export type LoanNoteKind = (typeof loanNoteKinds)[number];

export const loanNote = sqliteTable(
  "loan_note",
  {
    id: text("id").$type<NoteId>().primaryKey(),
    loanId: text("loan_id")
      .$type<LoanId>()
      .notNull()
      .references(() => loan.id),
    kind: text("kind").$type<LoanNoteKind>().notNull(),
    fromAt: instantColumn("from_at").notNull(),
    untilAt: instantColumn("until_at"),
    text: text("text").notNull(),
    writtenBy: text("written_by")
      .$type<StaffId>()
      .notNull()
      .references(() => staff.id),
    writtenAt: instantColumn("written_at").notNull(),
  },
  (table) => [index("loan_note_loan").on(table.loanId, table.fromAt)],
);

// --- Enrolment ---------------------------------------------------------------------------------------------------

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

/** What goes with a command, and what a renewal has come to. */
export interface CommandBody {
  readonly planVersion?: number;
  readonly renewal?: RenewalAnswered;
}

export interface RenewalAnswered {
  /** The unit's request, by boot and sequence of its message. */
  readonly boot: number;
  readonly sequence: number;
  readonly certificate: CertificateSerial;
  /** What it takes the place of as soon as it has been used. */
  readonly replaces: readonly CertificateSerial[];
  readonly usedAt: Instant | null;
}

/** Something a unit was asked to do once. */
export const unitCommand = sqliteTable(
  "unit_command",
  {
    id: text("id").$type<CommandId>().primaryKey(),
    unitSerial: text("unit_serial")
      .$type<UnitSerial>()
      .notNull()
      .references(() => unit.serial),
    kind: text("kind").$type<CommandKind>().notNull(),
    body: text("body", { mode: "json" }).$type<CommandBody>().notNull(),
    issuedAt: instantColumn("issued_at").notNull(),
    /** null: the programme itself, or the unit of its own accord. */
    issuedBy: text("issued_by")
      .$type<StaffId>()
      .references(() => staff.id),
    expiresAt: instantColumn("expires_at").notNull(),
    /** When the unit acknowledged the command; it may yet refuse it. */
    sentAt: instantColumn("sent_at"),
    state: text("state").$type<CommandState>().notNull(),
    answer: text("answer", { mode: "json" }).$type<CommandAnswer>(),
    answeredAt: instantColumn("answered_at"),
    found: text("found", { mode: "json" }).$type<SelfTestFound>(),
  },
  (table) => [
    index("unit_command_unit").on(table.unitSerial, table.issuedAt),
    index("unit_command_open").on(table.expiresAt).where(sql`state in ('waiting', 'sent', 'accepted')`),
  ],
);

// --- Telemetry: only server/store/telemetry*.ts may touch these ----------------------------------------------------

/** The raw record as it arrives, in the order of arrival: a unit's latest messages, until they are packed. There is no
 *  index by unit: with many units each row would touch a page of its own (see telemetry-recent.ts). */
export const message = sqliteTable("message", {
  id: integer("id").primaryKey({ autoIncrement: true }),
  unitSerial: text("unit_serial").$type<UnitSerial>().notNull(),
  boot: integer("boot").notNull(),
  sequence: integer("sequence").notNull(),
  kind: text("kind").notNull(),
  receivedAt: instantColumn("received_at").notNull(),
  /** Span of the record in true time; null until its boot can be placed. */
  startsAt: instantColumn("starts_at"),
  endsAt: instantColumn("ends_at"),
  payload: blob("payload", { mode: "buffer" }).notNull(),
});

/** The raw record, packed: the messages of one day of a boot, each as it was sent. Days are counted by the unit's own
 *  uptime, so that a boot given another place in time keeps its blocks. */
export const messageBlock = sqliteTable(
  "message_block",
  {
    id: integer("id").primaryKey(),
    unitSerial: text("unit_serial").$type<UnitSerial>().notNull(),
    boot: integer("boot").notNull(),
    bootDay: integer("boot_day").notNull(),
    /** Above 0 where one block would grow too large. */
    part: integer("part").notNull(),
    fromSequence: integer("from_sequence").notNull(),
    toSequence: integer("to_sequence").notNull(),
    messages: integer("messages").notNull(),
    /** Uptime zero in true time, as the first message was placed; the others count from it. */
    bootedAt: instantColumn("booted_at").notNull(),
    startsAt: instantColumn("starts_at").notNull(),
    endsAt: instantColumn("ends_at").notNull(),
    lastReceivedAt: instantColumn("last_received_at").notNull(),
    /** Range of `message.id` the messages had. All of a unit's messages up to its greatest `last_id` are packed. */
    firstId: integer("first_id").notNull(),
    lastId: integer("last_id").notNull(),
    hasHello: integer("has_hello", { mode: "boolean" }).notNull(),
    hasFault: integer("has_fault", { mode: "boolean" }).notNull(),
    data: blob("data", { mode: "buffer" }).notNull(),
  },
  (table) => [
    uniqueIndex("message_block_name").on(table.unitSerial, table.boot, table.bootDay, table.part),
    index("message_block_time").on(table.unitSerial, table.endsAt, table.startsAt, table.lastId),
  ],
);

/** How a boot's uptime maps to true time: true = uptime + offset, give or take `error`. */
export const bootAnchor = sqliteTable(
  "boot_anchor",
  {
    unitSerial: text("unit_serial").$type<UnitSerial>().notNull(),
    boot: integer("boot").notNull(),
    /** Milliseconds since 1970 at uptime zero. */
    bootedAt: instantColumn("booted_at").notNull(),
    errorSeconds: integer("error_seconds").notNull(),
    /** `clock`: the unit's set clock said so. `arrival`: only an upper bound from when a message came. */
    basis: text("basis").$type<"clock" | "arrival">().notNull(),
  },
  (table) => [primaryKey({ columns: [table.unitSerial, table.boot] })],
);

/** Maximal runs of sequences settled, so that receipts and holes cost a few rows whatever the history. Those of
 *  messages not packed yet needn't be in here: they are in `message`. */
export const storedRange = sqliteTable(
  "stored_range",
  {
    unitSerial: text("unit_serial").$type<UnitSerial>().notNull(),
    boot: integer("boot").notNull(),
    fromSequence: integer("from_sequence").notNull(),
    toSequence: integer("to_sequence").notNull(),
  },
  (table) => [primaryKey({ columns: [table.unitSerial, table.boot, table.fromSequence] })],
);

/** Messages that could not be read, with the reason: kept, counted, shown; never dropped silently. */
export const keptAside = sqliteTable(
  "kept_aside",
  {
    id: integer("id").primaryKey({ autoIncrement: true }),
    /** The unit whose certificate sent it. */
    unitSerial: text("unit_serial").$type<UnitSerial>().notNull(),
    topic: text("topic").notNull(),
    receivedAt: instantColumn("received_at").notNull(),
    clause: text("clause").notNull(),
    reason: text("reason").notNull(),
    /** SHA-256 of the payload: a resend of the same bytes is the same row, counted. */
    digest: text("digest").notNull(),
    times: integer("times").notNull(),
    payload: blob("payload", { mode: "buffer" }).notNull(),
  },
  (table) => [uniqueIndex("kept_aside_once").on(table.unitSerial, table.digest)],
);

// --- What the record says ------------------------------------------------------------------------------------------

/** How far a unit's record has been worked through: a restart goes on from here. */
export const reviewMark = sqliteTable("review_mark", {
  unitSerial: text("unit_serial").$type<UnitSerial>().primaryKey(),
  /** `message.id` of the newest row already reviewed. */
  throughMessage: integer("through_message").notNull(),
  reviewedAt: instantColumn("reviewed_at").notNull(),
});

export const ledgerDay = sqliteTable(
  "ledger_day",
  {
    loanId: text("loan_id")
      .$type<LoanId>()
      .notNull()
      .references(() => loan.id),
    day: text("day").$type<LocalDay>().notNull(),
    startsAt: instantColumn("starts_at").notNull(),
    endsAt: instantColumn("ends_at").notNull(),
    /** JSON [[state index, start ms, end ms], ...] in order, tiling the day. */
    runs: text("runs", { mode: "json" }).$type<readonly (readonly [number, number, number])[]>().notNull(),
    /** JSON [[due at ms, "met" | "missed" | "not-assessable"], ...]. */
    due: text("due", { mode: "json" }).$type<readonly (readonly [number, string])[]>().notNull(),
    met: integer("met").notNull(),
    missed: integer("missed").notNull(),
    notAssessable: integer("not_assessable").notNull(),
    reviewedAt: instantColumn("reviewed_at").notNull(),
  },
  (table) => [primaryKey({ columns: [table.loanId, table.day] })],
);

export const stretch = sqliteTable(
  "stretch",
  {
    id: text("id").$type<StretchId>().primaryKey(),
    loanId: text("loan_id")
      .$type<LoanId>()
      .notNull()
      .references(() => loan.id),
    kind: text("kind").$type<StretchKind>().notNull(),
    startsAt: instantColumn("starts_at").notNull(),
    endsAt: instantColumn("ends_at"),
    firstSeenAt: instantColumn("first_seen_at").notNull(),
    filledAt: instantColumn("filled_at"),
  },
  (table) => [index("stretch_loan").on(table.loanId, table.startsAt)],
);

export const verdict = sqliteTable(
  "verdict",
  {
    id: text("id").$type<VerdictId>().primaryKey(),
    stretchId: text("stretch_id")
      .$type<StretchId>()
      .notNull()
      .references(() => stretch.id),
    computedAt: instantColumn("computed_at").notNull(),
    supersededAt: instantColumn("superseded_at"),
    outcome: text("outcome").$type<Side | "not-settled">().notNull(),
    probability: integer("probability_ppm").notNull(),
    verdict: text("verdict", { mode: "json" }).$type<Verdict>().notNull(),
  },
  (table) => [
    index("verdict_stretch").on(table.stretchId, table.computedAt),
    uniqueIndex("verdict_one_current").on(table.stretchId).where(sql`superseded_at is null`),
  ],
);

/** What a clinician learned of a stretch: never overwritten by a computation, shown beside it. */
export const learned = sqliteTable(
  "learned",
  {
    id: text("id").$type<NoteId>().primaryKey(),
    stretchId: text("stretch_id")
      .$type<StretchId>()
      .notNull()
      .references(() => stretch.id),
    agrees: integer("agrees", { mode: "boolean" }).notNull(),
    side: text("side").$type<Side>(),
    text: text("text").notNull(),
    writtenBy: text("written_by")
      .$type<StaffId>()
      .notNull()
      .references(() => staff.id),
    writtenAt: instantColumn("written_at").notNull(),
  },
  (table) => [index("learned_stretch").on(table.stretchId)],
);

export const finding = sqliteTable(
  "finding",
  {
    id: text("id").$type<FindingId>().primaryKey(),
    unitSerial: text("unit_serial")
      .$type<UnitSerial>()
      .notNull()
      .references(() => unit.serial),
    kind: text("kind").$type<FindingKind>().notNull(),
    place: text("place").notNull(),
    level: text("level").$type<ConditionLevel>().notNull(),
    probability: integer("probability_ppm").notNull(),
    sentence: text("sentence").notNull(),
    mistakenFor: text("mistaken_for").notNull(),
    settledBy: text("settled_by").notNull(),
    since: instantColumn("since").notNull(),
    lastSeenAt: instantColumn("last_seen_at").notNull(),
    clearedAt: instantColumn("cleared_at"),
    judgement: text("judgement").$type<"confirmed" | "refuted">(),
    judgedBy: text("judged_by")
      .$type<StaffId>()
      .references(() => staff.id),
    judgedAt: instantColumn("judged_at"),
  },
  (table) => [index("finding_unit").on(table.unitSerial, table.clearedAt)],
);

/** The last health assessment of a unit, for lists; details are recomputed from the record. */
export const unitAssessment = sqliteTable("unit_assessment", {
  unitSerial: text("unit_serial")
    .$type<UnitSerial>()
    .primaryKey()
    .references(() => unit.serial),
  assessedAt: instantColumn("assessed_at").notNull(),
  level: text("level").$type<ConditionLevel>().notNull(),
  reason: text("reason").notNull(),
  nextStep: text("next_step").notNull(),
  since: instantColumn("since"),
  /** JSON: per lean direction, of ten reliefs how many would be seen. */
  visibility: text("visibility", { mode: "json" }).$type<
    Record<string, { low: number; best: number; high: number }>
  >(),
});

// --- Recalls and visits --------------------------------------------------------------------------------------------

export const recall = sqliteTable("recall", {
  id: text("id").$type<RecallId>().primaryKey(),
  reference: text("reference").notNull().unique(),
  title: text("title").notNull(),
  advice: text("advice").notNull(),
  /** Takes back by lot or by firmware. */
  criterion: text("criterion").$type<"lot" | "firmware">().notNull(),
  criterionValue: text("criterion_value").notNull(),
  openedAt: instantColumn("opened_at").notNull(),
  openedBy: text("opened_by")
    .$type<StaffId>()
    .notNull()
    .references(() => staff.id),
  closedAt: instantColumn("closed_at"),
  closedBy: text("closed_by")
    .$type<StaffId>()
    .references(() => staff.id),
});

export const recallOutcomes = [
  "outstanding",
  "corrected-in-place",
  "returned",
  "quarantined",
  "scrapped-with-evidence",
  "passed-on",
  "lost",
  "refused",
] as const;
export type RecallOutcome = (typeof recallOutcomes)[number];

export const recallUnit = sqliteTable(
  "recall_unit",
  {
    recallId: text("recall_id")
      .$type<RecallId>()
      .notNull()
      .references(() => recall.id),
    unitSerial: text("unit_serial")
      .$type<UnitSerial>()
      .notNull()
      .references(() => unit.serial),
    outcome: text("outcome").$type<RecallOutcome>().notNull(),
    note: text("note").notNull(),
    /** Lost or refused need a named sign-off before the recall can close. */
    signedOffBy: text("signed_off_by")
      .$type<StaffId>()
      .references(() => staff.id),
    changedAt: instantColumn("changed_at").notNull(),
  },
  (table) => [primaryKey({ columns: [table.recallId, table.unitSerial] })],
);

export const visit = sqliteTable(
  "visit",
  {
    id: text("id").$type<VisitId>().primaryKey(),
    kind: text("kind").$type<"swap" | "collection">().notNull(),
    loanId: text("loan_id")
      .$type<LoanId>()
      .notNull()
      .references(() => loan.id),
    day: text("day").$type<LocalDay>().notNull(),
    doneBy: text("done_by")
      .$type<StaffId>()
      .notNull()
      .references(() => staff.id),
    replacementSerial: text("replacement_serial")
      .$type<UnitSerial>()
      .references(() => unit.serial),
    reason: text("reason").notNull(),
    status: text("status").$type<"planned" | "done" | "cancelled" | "no-access">().notNull(),
    createdAt: instantColumn("created_at").notNull(),
    closedAt: instantColumn("closed_at"),
  },
  (table) => [
    index("visit_day").on(table.day, table.status),
    check("visit_swap_has_replacement", sql`kind <> 'swap' or replacement_serial is not null`),
  ],
);
