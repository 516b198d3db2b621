import type { Instant } from "../units.ts";

/** Several frames taken of one thing in a row, as the unit sent them. */
export interface PointReading {
  readonly point: string;
  readonly takenAt: Instant;
  readonly rows: number;
  readonly columns: number;
  /** Each the whole grid in counts, row by row; two or more. */
  readonly frames: readonly (readonly number[])[];
  /** Mean temperature of the insert, °C. */
  readonly temperature: number;
  /** What the rig or the weight really pressed with, kg; null where nothing known lay on it. */
  readonly reference: AppliedLoad | null;
}

/** A load whose size is known, with what its certificate says of it. */
export interface AppliedLoad {
  readonly equipment: string;
  readonly kilograms: number;
  /** Standard uncertainty by its calibration certificate, kg (expanded over coverage factor). */
  readonly certificate: number;
  /** Smallest step its display shows, kg; 0 for a weight. */
  readonly resolution: number;
}

/** What of a step no frame can tell. */
export interface StepFacts {
  /** From the unit's hello and our registry. */
  readonly identity?: {
    readonly firmware: string | null;
    readonly rows: number | null;
    readonly columns: number | null;
    readonly recalledBy: readonly string[];
    readonly certificateDays: number | null;
  };
  readonly sweep?: {
    readonly cellsTested: number;
    readonly cellsFailed: number;
    readonly failedCells: readonly number[];
    readonly failedRows: readonly number[];
    readonly failedColumns: readonly number[];
  };
  readonly battery?: {
    readonly millivolts: number;
    readonly temperature: number;
    /** Swollen, hot, leaking, smelling or wet: any of them. */
    readonly hazardSeen: boolean;
  };
  /** What was seen while the cable was bent. */
  readonly flexSeen?: "nothing" | "damage";
}

export type LineDecision = "pass" | "fail" | "not-settled";

/** One reading against its tolerance. */
export interface JudgedLine {
  readonly name: string;
  readonly unit: string;
  readonly value: number;
  /** Expanded uncertainty at 95 %; 0 where the thing is counted and not measured. */
  readonly expanded: number;
  readonly coverageFactor: number;
  readonly degreesOfFreedom: number | null;
  readonly low: number | null;
  readonly high: number | null;
  readonly decision: LineDecision;
  /** A failure that leaving cells out of the count makes good. */
  readonly maskable: boolean;
}

export interface JudgedStep {
  readonly lines: readonly JudgedLine[];
  /** Cells that must not be counted, row by row from the front left. */
  readonly badCells: readonly number[];
  /** Grounds to stop at once: hazard of the battery. */
  readonly hazard: boolean;
}
