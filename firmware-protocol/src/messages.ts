/** Typed values of the messages a unit sends (what it receives: `downlink.ts`). Wire form and rules: SPEC.md.
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

/** A message within one unit's record. */
export interface MessageName {
  readonly boot: number;
  readonly sequence: number;
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
  readonly oldestUnsent?: MessageName;
  readonly storeCapacityMessages?: number;
  /** Unix seconds at which the unit's own certificate ends. */
  readonly certificateNotAfter?: number;
  /** The relay it reports through, as it names itself. */
  readonly relay?: string;
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
  /** Relative humidity at the grid; in every minute of a message or in none. */
  readonly humidityPercent?: number;
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

export const breakOffReasons = ["sat-back", "got-up", "other-relief", "power-lost", "unknown"] as const;
export type BreakOffReason = (typeof breakOffReasons)[number];

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
  /** Only where the hold asked for was not reached. */
  readonly brokenOff?: BreakOffReason;
  /** What each side carried during the hold, per cent of what it carried at rest. */
  readonly sideLoadPercent?: { readonly left: number; readonly right: number };
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

export const powerEvents = [
  "charge-start",
  "charge-end",
  "cut-off",
  "charge-too-hot",
  "charge-too-cold",
  "voltage-step",
] as const;
export type PowerEvent = (typeof powerEvents)[number];
export const chargeEnds = ["full", "interrupted"] as const;
export type ChargeEnd = (typeof chargeEnds)[number];

export interface Power extends Envelope {
  readonly kind: "power";
  readonly event: PowerEvent;
  readonly atUptimeSeconds: number;
  readonly cellMillivolts: number;
  readonly temperatureDecicelsius: number;
  /** [FP-5.36] `charge-end` only, and there always. */
  readonly ended?: ChargeEnd;
  /** [FP-5.37] The cell at rest and under a radio burst: what its internal resistance is worked out from. */
  readonly step?: {
    readonly restMillivolts: number;
    readonly loadMillivolts: number;
    readonly burstMilliamperes: number;
  };
}

export const relayLinks = ["up", "down", "not-told"] as const;
export type RelayLink = (typeof relayLinks)[number];

/** The relay's heartbeat as the unit heard it: what of a silence is the relay's and not the unit's. */
export interface Relay extends Envelope {
  readonly kind: "relay";
  readonly relay: string;
  readonly heardUptimeSeconds: number;
  /** Since the relay's own start, as it says; null where it doesn't. */
  readonly relayUptimeSeconds: number | null;
  /** The relay's link to the programme, as it says. */
  readonly link: RelayLink;
  readonly signalDecibelMilliwatts: number;
}

export interface SelfTest extends Envelope {
  readonly kind: "self-test";
  readonly atUptimeSeconds: number;
  readonly passed: boolean;
  readonly rows: number;
  readonly columns: number;
  readonly cellsTested: number;
  readonly cellsFailed: number;
  /** [FP-5.45] Places of the first 256 of them, counted as in a frame. */
  readonly failedCells: readonly number[];
  readonly failedRows: readonly number[];
  readonly failedColumns: readonly number[];
  /** Id of the command it answers. */
  readonly command?: string;
}

export interface Prompt extends Envelope {
  readonly kind: "prompt";
  readonly givenUptimeSeconds: number;
  readonly planVersion: number;
  /** Sequence of the relief, in the same boot, that came of it; null where none did. */
  readonly followedBySequence: number | null;
}

export const notices = ["certificate-expires"] as const;
export type NoticeKind = (typeof notices)[number];

export interface Notice extends Envelope {
  readonly kind: "notice";
  readonly notice: NoticeKind;
  readonly dueUnixSeconds: number;
}

export const resultStates = ["accepted", "done", "refused", "expired"] as const;
export type ResultState = (typeof resultStates)[number];
export const refusalReasons = [
  "unsupported",
  "unreadable",
  "busy",
  "battery-low",
  "seat-loaded",
  "failed",
] as const;
export type RefusalReason = (typeof refusalReasons)[number];

export interface Result extends Envelope {
  readonly kind: "result";
  readonly command: string;
  readonly atUptimeSeconds: number;
  readonly state: ResultState;
  /** [FP-5.56] `refused` only, and there always. */
  readonly reason: RefusalReason | null;
  readonly detail?: string;
}

/** Asks for a new certificate; answered by a `certificate`. */
export interface Renewal extends Envelope {
  readonly kind: "renewal";
  /** PKCS#10, DER. */
  readonly request: Uint8Array;
  readonly command?: string;
}

export type UplinkMessage =
  | Hello
  | Minutes
  | Relief
  | Frame
  | Fault
  | Power
  | Relay
  | SelfTest
  | Prompt
  | Notice
  | Result
  | Renewal;
export type UplinkKind = UplinkMessage["kind"];
