import type { Celsius, DecibelMilliwatts, Instant, Milliamperes, Millivolts, Seconds } from "../units.ts";
import type { ResetReason } from "./unit-record.ts";

/** What a unit tells of itself besides minutes, reliefs and frames. Each list is sorted by `at`. A unit with older
 *  firmware tells nothing of most of it: an empty list says that nothing was told, never that nothing happened. */
export interface ToldEvents {
  readonly powerEvents: readonly RecordedPowerEvent[];
  readonly relayHeartbeats: readonly RelayHeartbeat[];
  readonly selfTests: readonly RecordedSelfTest[];
  readonly prompts: readonly RecordedPrompt[];
  readonly storeOverruns: readonly StoreOverrun[];
  readonly greetings: readonly RecordedGreeting[];
  readonly notices: readonly RecordedNotice[];
  readonly commandResults: readonly RecordedCommandResult[];
  readonly renewals: readonly RecordedRenewal[];
}

/** The record of a unit that told nothing of it. */
export const nothingElseTold: ToldEvents = {
  powerEvents: [],
  relayHeartbeats: [],
  selfTests: [],
  prompts: [],
  storeOverruns: [],
  greetings: [],
  notices: [],
  commandResults: [],
  renewals: [],
};

/** `at` is when it happened, in true time; `receivedAt` when it reached us. Boot and sequence name the message. */
interface Told {
  readonly at: Instant;
  readonly receivedAt: Instant;
  readonly boot: number;
  readonly sequence: number;
}

export type PowerEventKind =
  | "charge-start"
  | "charge-end"
  | "cut-off"
  | "charge-too-hot"
  | "charge-too-cold"
  | "voltage-step";

export interface RecordedPowerEvent extends Told {
  readonly event: PowerEventKind;
  readonly cell: Millivolts;
  /** At the cell, not at the grid. */
  readonly temperature: Celsius;
  /** Of a charge that ended, always. */
  readonly ended: "full" | "interrupted" | null;
  /** Cell at rest and under a radio burst: internal resistance is (rest - underLoad) / burst. */
  readonly step: {
    readonly rest: Millivolts;
    readonly underLoad: Millivolts;
    readonly burst: Milliamperes;
  } | null;
}

/** What a relay said of itself when the unit heard it: what of a silence is the relay's and not the unit's. */
export interface RelayHeartbeat extends Told {
  /** Names the relay and nothing else. */
  readonly relay: string;
  /** The unit's own count of seconds since its boot when it heard it. */
  readonly uptime?: Seconds;
  /** When the relay itself started, by its own uptime; null where it doesn't say. */
  readonly relayStartedAt: Instant | null;
  /** The relay's own link to the programme, as it says. */
  readonly link: "up" | "down" | "not-told";
  readonly signal: DecibelMilliwatts;
}

export interface RecordedSelfTest extends Told {
  readonly passed: boolean;
  readonly rows: number;
  readonly columns: number;
  readonly cellsTested: number;
  readonly cellsFailed: number;
  /** Places of the first 256 of them: row times columns plus column. */
  readonly failedCells: readonly number[];
  readonly failedRows: readonly number[];
  readonly failedColumns: readonly number[];
  /** Id of the command that asked for it; null: the unit's own daily test. */
  readonly command: string | null;
}

export interface RecordedPrompt extends Told {
  readonly planVersion: number;
  /** The relief that came of it; its `at` is null where that relief hasn't reached us or lies outside what was read.
   *  null: the unit saw none, which doesn't say that the person felt the prompt and sat on. */
  readonly followedBy: { readonly at: Instant | null } | null;
}

/** The unit's store was full and gave up the oldest: it was recording, and nothing about the person follows. */
export interface StoreOverrun extends Told {
  readonly lost: { readonly boot: number; readonly fromSequence: number; readonly toSequence: number };
  readonly messages: number;
}

/** At each boot, and again when back after a while: what the unit says of itself and of what waits in its store. */
export interface RecordedGreeting extends Told {
  readonly reset: ResetReason;
  readonly firmware: string;
  readonly hardware: string;
  /** Messages waiting in its own store; the oldest of them, where it says. */
  readonly queued: number;
  readonly oldestUnsent: { readonly boot: number; readonly sequence: number } | null;
  readonly storeCapacity: number | null;
  readonly certificateEnds: Instant | null;
  readonly relay: string | null;
}

/** Something that will need a person, told before it does. */
export interface RecordedNotice extends Told {
  readonly notice: "certificate-expires";
  readonly due: Instant;
}

export interface RecordedCommandResult extends Told {
  readonly command: string;
  readonly state: "accepted" | "done" | "refused" | "expired";
  readonly reason: "unsupported" | "unreadable" | "busy" | "battery-low" | "seat-loaded" | "failed" | null;
  readonly detail: string | null;
}

/** It asked for a new certificate. */
export interface RecordedRenewal extends Told {
  readonly command: string | null;
}
