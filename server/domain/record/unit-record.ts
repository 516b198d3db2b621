import type {
  Celsius,
  DecibelMilliwatts,
  Instant,
  Kilograms,
  Millivolts,
  Percent,
  Probability,
  Seconds,
} from "../units.ts";
import type { LoadMinutes } from "./load-minutes.ts";
import type { SeatMinutes } from "./seat-minutes.ts";
import type { ToldEvents } from "./told-events.ts";

/** What a unit told us, placed in true time and sorted by `at`. `receivedAt` is when it reached us. */
export interface UnitRecord extends ToldEvents {
  readonly minutes: readonly RecordedMinute[];
  /** `minutes` as columns, where they are at hand. Whatever copies a record must leave it out: it speaks of all of
   *  these minutes and no others. */
  readonly seatMinutes?: SeatMinutes;
  /** The same, of how they sat. */
  readonly loadMinutes?: LoadMinutes;
  readonly reliefs: readonly RecordedRelief[];
  readonly frames: readonly RecordedFrame[];
  readonly boots: readonly RecordedBoot[];
  readonly faults: readonly RecordedFault[];
  readonly holes: readonly SequenceHole[];
}

export type SeatState = "loaded" | "empty";
export type PowerState = "on-battery" | "charging" | "charged";

/** One minute as the unit summed it up; covers [at, at + 60 s). */
export interface RecordedMinute {
  readonly at: Instant;
  readonly receivedAt: Instant;
  readonly boot: number;
  readonly seat: SeatState;
  readonly load: Kilograms;
  /** Centre of pressure, per cent of the half width or half depth: right and front are positive. */
  readonly centreRight: number;
  readonly centreFront: number;
  readonly cell: Millivolts;
  readonly power: PowerState;
  readonly temperature: Celsius;
  /** null: the unit had no relay to talk to in this minute. */
  readonly signal: DecibelMilliwatts | null;
  /** Relative humidity at the grid; only of units that measure it. */
  readonly humidity?: Percent;
}

export const reliefKinds = ["lift", "lean-left", "lean-right", "lean-forward", "tilt"] as const;
export type ReliefKind = (typeof reliefKinds)[number];

export const breakOffReasons = ["sat-back", "got-up", "other-relief", "power-lost", "unknown"] as const;
export type BreakOffReason = (typeof breakOffReasons)[number];

export interface RecordedRelief {
  readonly at: Instant;
  readonly receivedAt: Instant;
  readonly kind: ReliefKind;
  readonly hold: Seconds;
  /** Share of the resting load that left the relieved side, 0 to 1. */
  readonly depth: Probability;
  readonly outcome: "complete" | "broken-off";
  readonly prompted: boolean;
  /** Only where the hold asked for was not reached, and the unit says why. */
  readonly brokenOff?: BreakOffReason;
  /** What each side carried during the hold, per cent of what it carried at rest; only where the unit says. */
  readonly sideLoad?: { readonly left: Percent; readonly right: Percent };
}

/** A snapshot of the grid. `cells` is row by row, front row first, left to right as the person sits; 0 to 255 counts. */
export interface RecordedFrame {
  readonly at: Instant;
  readonly receivedAt: Instant;
  readonly seat: SeatState;
  readonly rows: number;
  readonly columns: number;
  readonly cells: Uint8Array;
  /** Temperature of the insert when the frame was taken. */
  readonly temperature: Celsius;
}

export type ResetReason = "power-on" | "brown-out" | "watchdog" | "software" | "user-off" | "unknown";

export interface RecordedBoot {
  readonly at: Instant;
  readonly receivedAt: Instant;
  readonly boot: number;
  readonly reset: ResetReason;
  readonly firmware: string;
  readonly hardware: string;
  readonly clockSet: boolean;
  readonly rows: number;
  readonly columns: number;
  /** Messages waiting in the unit's own store when it wrote this. */
  readonly queued: number;
  /** No clock spoke for this boot: all it told lies up to this much earlier than it is placed. Left out: its own clock
   *  placed it. */
  readonly placedWithin?: Seconds;
}

export type FaultCode =
  | "battery-cut-off"
  | "charge-too-hot"
  | "charge-too-cold"
  | "cell-hot"
  | "grid-self-test"
  | "store-overrun"
  | "clock-lost"
  | "wet";

export interface RecordedFault {
  readonly at: Instant;
  readonly receivedAt: Instant;
  readonly code: FaultCode;
  readonly detail: string;
  /** As the unit gave it: millivolts for a cut-off, tenths of a degree for heat and cold, cells for a self-test. */
  readonly value?: number;
}

/** Messages a boot numbered that have not reached us. `lost`: the unit said its store overran them. */
export interface SequenceHole {
  readonly boot: number;
  readonly fromSequence: number;
  readonly toSequence: number;
  /** End of the last record before the hole, or the boot's start where it begins with the boot, and start of the first
   *  record after it, where known. Of the same boot. */
  readonly after: Instant | null;
  readonly before: Instant | null;
  /** Where the unit itself told of the loss and nothing of the boot came after it: about when the last of it ended, by
   *  how long a message of that boot told of before. */
  readonly endsAbout?: Instant;
  readonly fate: "awaited" | "lost";
}
