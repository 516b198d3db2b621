import type { UnitSerial } from "../domain/ids.ts";
import type { SequenceHole, UnitRecord } from "../domain/record/unit-record.ts";
import type { Instant, Span } from "../domain/units.ts";

/** A message whose sender and envelope are known, still in its wire form. */
export interface IncomingMessage {
  /** From the certificate, never from the message. */
  readonly unit: UnitSerial;
  readonly topic: string;
  readonly receivedAt: Instant;
  readonly payload: Uint8Array;
}

/** What one boot of a unit has safely stored: everything up to and with `through`, save the holes. */
export interface StoredUpTo {
  readonly boot: number;
  readonly through: number;
  readonly holes: readonly (readonly [from: number, to: number])[];
}

export interface AppendOutcome {
  readonly stored: number;
  /** Resends of what was stored before. */
  readonly duplicates: number;
  readonly keptAside: number;
  /** For each unit and boot the batch touched: what a receipt may now say. */
  readonly receipts: ReadonlyMap<UnitSerial, readonly StoredUpTo[]>;
}

export interface KeptAsideCount {
  readonly unit: UnitSerial;
  readonly messages: number;
  readonly lastReason: string;
  readonly lastAt: Instant;
}

/** Messages kept aside that an upgrade has learned to read, still to be appended. */
export interface AsideNowReadable {
  readonly readable: readonly { readonly id: number; readonly incoming: IncomingMessage }[];
  /** Where to go on looking; null: that was all. */
  readonly lookedThrough: number | null;
}

/** Telemetry behind a few async methods, so that another store can take its place.
 *  Nothing but an implementation of this touches the telemetry tables. */
export interface TelemetryStore {
  /** `append` goes on beside the caller, who may ask for the next before the last has ended. */
  readonly writesBeside?: boolean;
  /** One durable commit. Resolves after the commit; rejects when nothing of the batch was stored.
   *  A message that can't be read is kept aside and never harms its neighbours. */
  append(batch: readonly IncomingMessage[]): Promise<AppendOutcome>;
  /** Everything a unit recorded that happened within `span`, placed in true time, oldest first, no duplicates.
   *  `knownBy` leaves out what arrived later. */
  read(unit: UnitSerial, span: Span, knownBy?: Instant): Promise<UnitRecord>;
  /** What is missing of what a unit numbered within `span`: the same as `read` tells, without reading the rest. */
  holes(unit: UnitSerial, span: Span): Promise<readonly SequenceHole[]>;
  /** Units with messages newer than their review mark, with the earliest instant those touch (null: can't be
   *  placed yet) and the newest message id, so that a review goes on exactly where the last one stopped. */
  unreviewed(): Promise<readonly { unit: UnitSerial; earliest: Instant | null; throughMessage: number }[]>;
  /** The same of one unit, however many others have news. */
  unreviewedOf(unit: UnitSerial): Promise<{ earliest: Instant | null; throughMessage: number } | null>;
  /** When each of these units was last recording, by its own account (end of its newest placed record). */
  lastRecordedAt(units: readonly UnitSerial[]): Promise<ReadonlyMap<UnitSerial, Instant>>;
  keptAside(): Promise<readonly KeptAsideCount[]>;
  /** Looks through the next `limit` messages kept aside after `after` (0: from the first). */
  asideNowReadable(after: number, limit: number): Promise<AsideNowReadable>;
  /** Lets go of those that an append has made part of the record, and of no other. @returns how many */
  dropAsideOnRecord(taken: AsideNowReadable["readable"]): Promise<number>;
  /** Puts what has been stored into the form it is kept in, for at most about so long; what is read stays the same.
   *  To be called in quiet moments. @returns whether there is more to do */
  tidy(now: Instant, forMilliseconds: number): Promise<boolean>;
}
