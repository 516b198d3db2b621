import { slopeThroughOrigin } from "../statistics/line-through-origin.ts";
import { fallsTo, straightLine } from "../statistics/straight-line.ts";
import {
  type Instant,
  type Interval,
  instant,
  type MilliampHours,
  milliampHours,
  millisecondsIn,
} from "../units.ts";
import type { CellDescription } from "./cell-description.ts";
import type { Discharge } from "./charge-history.ts";
import { chargeDeviation } from "./open-circuit-voltage.ts";

/** One standard deviation: of a unit's draw about its description, and mV of a rested voltage about the table.
 *  Assumptions. That the table is of the cell's own make is taken as so: another make's would be off by more. */
const drawDoubt = 0.015;
const voltageDoubt = 6;
/** What all readings of one unit share, as a share of capacity: how far its draw is off is the same in each. */
const sharedDoubt = drawDoubt;
const shallowest = 0.12;
const wornShare = 0.8;
const ninetyPercent = 1.645;

/** One discharge between two rested readings: how much charge left, by the state of charge and by the clock. */
export interface CapacityReading {
  readonly at: Instant;
  readonly depth: number;
  /** One standard deviation of `depth`: both ends are read from the table. */
  readonly depthDeviation: number;
  readonly drawn: MilliampHours;
}

export interface Capacity {
  /** By the model's description. */
  readonly rated: MilliampHours;
  readonly readings: readonly CapacityReading[];
  /** mAh. */
  readonly now: Interval;
  /** The same in what this unit is described to draw: how long a charge lasts asks no more, for what its draw is off by
   *  is in both. */
  readonly asDrawn: Interval;
  readonly ofRated: Interval;
  /** The model's draw is described: without that, `ofRated` is by an assumed one and proves nothing. */
  readonly isDrawDescribed: boolean;
  /** When it comes down to 80 % of rated if it goes on as it does; null: it doesn't fall, or too little is known. */
  readonly wornAt: {
    readonly earliest: Instant;
    readonly best: Instant;
    readonly latest: Instant | null;
  } | null;
}

const fewest = 3;
const fewestForTrend = 6;
const day = 24 * millisecondsIn.hour;

/** Capacity from charge moved between anchored points, with error in both.
 *  @param discharges oldest first
 *  @returns null where fewer than three are deep enough */
export function capacityOf(
  discharges: readonly Discharge[],
  { rated, draw, isDrawDescribed }: CellDescription,
): Capacity | null {
  const readings = discharges.flatMap((run): CapacityReading[] => {
    const depth = run.from - run.to;
    const drawn = run.loaded * draw.loaded + run.empty * draw.empty + run.searching * draw.searching;
    const depthDeviation = Math.hypot(
      chargeDeviation(run.from, voltageDoubt),
      chargeDeviation(run.to, voltageDoubt),
    );
    return depth >= shallowest && drawn > 0
      ? [{ at: run.end, depth, depthDeviation, drawn: milliampHours(drawn) }]
      : [];
  });
  if (readings.length < fewest) return null;
  const own = slopeThroughOrigin(
    byPlace(readings).map(({ depth, depthDeviation, drawn }) => ({
      x: depth,
      y: drawn,
      deviationX: depthDeviation,
      deviationY: drawDoubt * drawn,
    })),
    [0.2 * rated, 2 * rated],
  );
  const half = Math.hypot((own.high - own.low) / 2, ninetyPercent * sharedDoubt * own.best);
  const now = { ...own, low: Math.max(0, own.best - half), high: own.best + half };
  return {
    rated,
    readings,
    now,
    asDrawn: own,
    isDrawDescribed,
    ofRated: {
      low: now.low / rated,
      best: now.best / rated,
      high: now.high / rated,
      level: now.level,
    },
    wornAt: wornAt(readings, rated),
  };
}

/** Readings of about the same depth end at the same place of the table and share its error there: however many they are,
 *  they count once. Else nine nights of top-ups outvote the one deep discharge that tells most. */
function byPlace(readings: readonly CapacityReading[]) {
  const places = new Map<number, CapacityReading[]>();
  for (const reading of readings) {
    const place = Math.round(reading.depth / samePlace);
    const others = places.get(place);
    if (others) others.push(reading);
    else places.set(place, [reading]);
  }
  return [...places.values()].map((alike) => ({
    depth: meanOf(alike, ({ depth }) => depth),
    depthDeviation: meanOf(alike, ({ depthDeviation }) => depthDeviation),
    drawn: meanOf(alike, ({ drawn }) => drawn),
  }));
}

const samePlace = 0.05;
const meanOf = (readings: readonly CapacityReading[], of: (one: CapacityReading) => number): number =>
  readings.reduce((sum, one) => sum + of(one), 0) / readings.length;

/** A straight line through the readings and where it comes down to 80 %. Each reading weighs by its own doubt: deep
 *  discharges tell more than shallow ones. */
function wornAt(readings: readonly CapacityReading[], rated: MilliampHours): Capacity["wornAt"] {
  if (readings.length < fewestForTrend) return null;
  const line = straightLine(
    readings.map(({ at, depth, depthDeviation, drawn }) => ({
      x: at / day,
      y: drawn / depth / rated,
      weight: 1 / ((depthDeviation / depth) ** 2 + drawDoubt ** 2),
    })),
  );
  const falls = line && fallsTo(line, wornShare, 0.9, sharedDoubt);
  if (!falls) return null;
  const first = readings[0]?.at ?? instant(0);
  return {
    earliest: instant(Math.max(first, falls.low * day)),
    best: instant(falls.best * day),
    latest: Number.isFinite(falls.high) ? instant(falls.high * day) : null,
  };
}
