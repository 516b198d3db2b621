/** Typed values of the messages a unit sends and receives. Wire form and rules: SPEC.md.
 *  Times inside a message are the unit's uptime in seconds since its boot; `wallSeconds` is the unit's claim about the
 *  time of day (Unix seconds), null while its clock is not set. */

export interface Envelope {
  /** Serial on the label; must be the one in the certificate. */
  readonly unit: string;
  /** [FP-4.4] Counts power-ons and resets; never goes back. */
  readonly boot: number;
  /** [FP-4.5] Counts messages within a boot from 0. (unit, boot, sequence) names a message for ever. */
  readonly sequence: number;
  /** When the message was written. */
  readonly uptimeSeconds: number;
  readonly wallSeconds: number | null;
}

export const resetReasons = ["power-on", "brown-out", "watchdog", "software", "user-off", "unknown"] as const;
export type ResetReason = (typeof resetReasons)[number];

export interface Hello extends Envelope {
  readonly kind: "hello";
  readonly firmware: string;
  readonly hardware: string;
  readonly reset: ResetReason;
  readonly rows: number;
  readonly columns: number;
  readonly pitchMillimetres: number;
  /** Messages waiting in the unit's own store. */
  readonly queued: number;
}

export const powerStates = ["on-battery", "charging", "charged"] as const;
export type PowerState = (typeof powerStates)[number];

export interface MinuteRecord {
  readonly loaded: boolean;
  readonly power: PowerState;
  /** Total load, tenths of a kilogram. */
  readonly loadHectograms: number;
  /** Centre of pressure, per cent of half width and half depth, -100 to 100; right and front positive. */
  readonly centreRightPercent: number;
  readonly centreFrontPercent: number;
  readonly cellMillivolts: number;
  readonly temperatureDecicelsius: number;
  /** dBm; null where no relay could be reached in this minute. */
  readonly signalDecibelMilliwatts: number | null;
}

/** [FP-5.6] A run of consecutive minutes; the first starts at `firstUptimeSeconds`, the last no later than the
 *  envelope's uptime. */
export interface Minutes extends Envelope {
  readonly kind: "minutes";
  readonly firstUptimeSeconds: number;
  readonly minutes: readonly MinuteRecord[];
}

export const reliefKinds = ["lift", "lean-left", "lean-right", "lean-forward", "tilt"] as const;
export type ReliefKind = (typeof reliefKinds)[number];

export interface Relief extends Envelope {
  readonly kind: "relief";
  readonly relief: ReliefKind;
  readonly startUptimeSeconds: number;
  readonly holdSeconds: number;
  /** Share of the resting load that left the relieved side, per cent. */
  readonly depthPercent: number;
  readonly complete: boolean;
  /** A prompt was given in the five minutes before. */
  readonly prompted: boolean;
}

export interface Frame extends Envelope {
  readonly kind: "frame";
  readonly takenUptimeSeconds: number;
  readonly loaded: boolean;
  readonly rows: number;
  readonly columns: number;
  readonly temperatureDecicelsius: number;
  /** Row by row, front row first, left to right as the person sits; 0 to 255 counts. rows x columns bytes. */
  readonly cells: Uint8Array;
}

export const faultCodes = [
  "battery-cut-off",
  "charge-too-hot",
  "charge-too-cold",
  "cell-hot",
  "grid-self-test",
  "store-overrun",
  "clock-lost",
  "wet",
] as const;
export type FaultCode = (typeof faultCodes)[number];

export interface Fault extends Envelope {
  readonly kind: "fault";
  readonly fault: FaultCode;
  readonly atUptimeSeconds: number;
  /** [FP-5.25] `store-overrun` only, and there always: what was lost, never silently. */
  readonly lost: { readonly boot: number; readonly fromSequence: number; readonly toSequence: number } | null;
  /** A number the code gives meaning to (millivolts for battery-cut-off, decidegrees for temperatures). */
  readonly value: number | null;
}

export type UplinkMessage = Hello | Minutes | Relief | Frame | Fault;
export type UplinkKind = UplinkMessage["kind"];

/** [FP-6.6] Sent after the commit. Everything of `boot` up to and with `through` is stored, save the holes: a unit may forget
 *  exactly that, and nothing on the strength of a PUBACK alone. */
export interface StoredUpTo {
  readonly boot: number;
  readonly through: number;
  readonly holes: readonly (readonly [from: number, to: number])[];
}

export interface Receipt {
  readonly kind: "receipt";
  readonly stored: readonly StoredUpTo[];
  /** The server's time when it was sent; the unit sets its clock by it. */
  readonly serverUnixSeconds: number;
}

export interface Plan {
  readonly kind: "plan";
  readonly version: number;
  readonly intervalMinutes: number;
  readonly holdSeconds: number;
  readonly kinds: readonly ReliefKind[];
}

export type DownlinkMessage = Receipt | Plan;

/** Why bytes could not be read, and what of the envelope could. Never thrown: a decoder returns it. */
export interface Unreadable {
  readonly kind: "unreadable";
  /** The clause of SPEC.md that refuses it, e.g. `FP-4.2`. */
  readonly clause: string;
  /** Names the field and what was wrong with it. */
  readonly reason: string;
  /** Set where the envelope itself could be read. */
  readonly envelope: Envelope | null;
}
