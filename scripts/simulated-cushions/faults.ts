import type { Moment } from "./wall-clock.ts";

/** What can go wrong with a cushion itself. Each acts on the physics (a cell's reading, the battery's capacity); what
 *  the unit then fails to see or say follows by itself. Numbering starts at 0: row 0 is the front, column 0 the
 *  sitting person's left. */
export type Fault =
  | { readonly kind: "column-open"; readonly from: Moment; readonly column: number }
  | { readonly kind: "row-open"; readonly from: Moment; readonly row: number }
  | { readonly kind: "cell-open"; readonly from: Moment; readonly row: number; readonly column: number }
  | {
      readonly kind: "cell-stuck";
      readonly from: Moment;
      readonly row: number;
      readonly column: number;
      readonly counts: number;
    }
  /** The insert lies this many lines further to the person's left: each cell feels what lay to its right. */
  | { readonly kind: "insert-shifted"; readonly from: Moment; readonly columns: number }
  /** It was put back back to front; nothing is broken, and it lies right again when somebody turns it round. */
  | { readonly kind: "turned-round"; readonly from: Moment; readonly until: Moment }
  /** The rear edge is folded under: the last row lies below the one inside it. */
  | { readonly kind: "edge-folded"; readonly from: Moment }
  /** The cover has come loose and lies in wrinkles, which move from hour to hour. */
  | { readonly kind: "cover-loose"; readonly from: Moment }
  /** The empty reading of the rear of the seat creeps upwards. */
  | {
      readonly kind: "zero-drift";
      readonly from: Moment;
      readonly countsPerDay: number;
      readonly upTo: number;
    }
  /** The cell fails: it loses this share of its rating each day, on top of ordinary wear. */
  | {
      readonly kind: "capacity-fade";
      readonly from: Moment;
      readonly sharePerDay: number;
      readonly downTo: number;
    }
  /** The watchdog resets the unit about this often. */
  | { readonly kind: "reset-loop"; readonly from: Moment; readonly meanHoursBetween: number }
  /** The cell warms up by this much while it is charged. */
  | { readonly kind: "charge-heat"; readonly from: Moment; readonly celsius: number }
  /** Where it is charged it is this cold. */
  | { readonly kind: "cold-place"; readonly from: Moment; readonly until: Moment; readonly celsius: number }
  /** The protection circuit cuts the cell off early, with charge still in it. */
  | { readonly kind: "early-cut-off"; readonly from: Moment; readonly millivolts: number }
  /** The plug between cell and electronics has worn: its contacts resist. */
  | { readonly kind: "worn-plug"; readonly from: Moment; readonly ohms: number }
  /** The cell loses this share of a full charge a day by itself, switched on or off. */
  | { readonly kind: "leaky-cell"; readonly from: Moment; readonly sharePerDay: number }
  /** Liquid has got in: humidity at the grid stays near all there can be. */
  | { readonly kind: "wet"; readonly from: Moment; readonly until: Moment };

/** What can go wrong around it. */
export type Outage =
  /** The relay is off, flat or gone: the unit has nothing to talk to. */
  | { readonly what: "relay"; readonly from: Moment; readonly until: Moment }
  /** The relay answers, but what lies behind it doesn't: the unit sees good signal and gets no receipts. */
  | { readonly what: "network"; readonly from: Moment; readonly until: Moment };

export interface RadioSurroundings {
  /** Mean and spread of the signal at home, dBm. */
  readonly signal: { readonly mean: number; readonly deviation: number };
  readonly outages: readonly Outage[];
  /** What it reports through; left out: a relay of its own that tells of its link. */
  readonly relay?: RelayPersona;
}

/** A relay as its heartbeat shows it. */
export interface RelayPersona {
  readonly name: string;
  /** Some relays say whether they reach the programme, some don't. */
  readonly tellsLink: boolean;
  readonly startedAt: Moment;
}

export const outageAt = (outages: readonly Outage[], at: Moment): Outage | null =>
  outages.find((outage) => outage.from <= at && at < outage.until) ?? null;

/** Below this the radio can't hold a link (common for low-power radios, no source). */
export const weakestUsableSignal = -96;
