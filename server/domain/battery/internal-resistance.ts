import type { RecordedPowerEvent } from "../record/told-events.ts";
import { median } from "../statistics/median.ts";
import { robustTrend } from "../statistics/robust-trend.ts";
import { type Celsius, type Instant, type Interval, millisecondsIn } from "../units.ts";

/** What one radio burst made of the cell's voltage. */
export interface VoltageStep {
  readonly at: Instant;
  /** As measured, at `temperature`. */
  readonly ohms: number;
  readonly temperature: Celsius;
}

/** Internal resistance by the voltage steps at radio bursts, each as it would be at 25 degrees Celsius. */
export interface InternalResistance {
  readonly readings: readonly { readonly at: Instant; readonly ohms: number }[];
  /** The middle of the last readings, ohms. */
  readonly now: number;
  readonly nowSince: Instant;
  /** The last readings over the first ones, at 90 %; null: too few, or too close together. */
  readonly ratio: Interval | null;
  readonly ratioDeviation: number;
  /** Ohms a month, by a robust line, at 90 %; null: too few. */
  readonly trend: Interval | null;
}

const gasConstant = 8.314;
const kelvin = 273.15;
const reference = 25 + kelvin;
/** J/mol. The two electrodes of one cell have 35 000 (graphite) and 17 800 (nickel-manganese-cobalt; from memory) in the
 *  parameter set of Chen et al. 2020 that the open library PyBaMM carries; leads and plug have none. The middle, and as
 *  one standard deviation a third of the way to either. Assumption. */
const activation = 25_000;
const activationDeviation = 6_000;
/** Readings at each end that are compared. Assumption: a week of daily ones, less days on the charger. */
const compared = 5;
const ninetyPercent = 1.645;
/** Voltages are told to the millivolt: two of them over a burst of a few hundred milliamperes. Assumption. */
const leastDoubt = 0.015;
const day = 24 * millisecondsIn.hour;

/** @returns resistance is (rest − under load) / burst; steps that show none are no readings */
export const voltageSteps = (events: readonly RecordedPowerEvent[]): VoltageStep[] =>
  events.flatMap(({ at, step, temperature }) => {
    if (step === null || step.rest <= step.underLoad) return [];
    return [{ at, ohms: (step.rest - step.underLoad) / step.burst, temperature }];
  });

/** How much more a cell resists per unit of activation energy than at 25 degrees: (1/T − 1/T₀)/R, mol/J. */
const coldness = (celsius: number): number => (1 / (celsius + kelvin) - 1 / reference) / gasConstant;

/** Resistance at 25 degrees, by the law of Arrhenius. */
export const atTwentyFive = ({ ohms, temperature }: Pick<VoltageStep, "ohms" | "temperature">): number =>
  ohms * Math.exp(-activation * coldness(temperature));

/** @param steps oldest first; @returns null of none */
export function internalResistance(steps: readonly VoltageStep[]): InternalResistance | null {
  const readings = steps.map((step) => ({ at: step.at, ohms: atTwentyFive(step) }));
  const last = steps.slice(-compared);
  const now = median(readings.slice(-compared).map(({ ohms }) => ohms));
  const since = last[0]?.at;
  if (now === null || since === undefined) return null;
  const trend = robustTrend(
    readings.map(({ at, ohms }) => ({ x: at / (30 * day), y: ohms })),
    0.9,
  );
  return { readings, now, nowSince: since, ...ratioOf(steps), trend: trend?.slope ?? null };
}

function ratioOf(steps: readonly VoltageStep[]): Pick<InternalResistance, "ratio" | "ratioDeviation"> {
  const early = steps.slice(0, compared);
  const late = steps.slice(-compared);
  const first = together(early);
  const recent = together(late);
  if (steps.length < 2 * compared || first === null || recent === null)
    return { ratio: null, ratioDeviation: 0 };
  const best = recent.ohms / first.ohms;
  // What the correction may be off by is in both, as far as both were as warm.
  const warmth = activationDeviation * Math.abs(recent.coldness - first.coldness);
  const deviation = best * Math.hypot(first.spread, recent.spread, warmth, leastDoubt);
  const half = ninetyPercent * deviation;
  return { ratio: { low: best - half, best, high: best + half, level: 0.9 }, ratioDeviation: deviation };
}

/** `spread` is relative, of the middle: 1.4826 times the median absolute deviation is a standard deviation of a normal
 *  spread, and a median scatters 1.2533 times as much as a mean. */
function together(steps: readonly VoltageStep[]) {
  const ohms = median(steps.map(atTwentyFive));
  if (ohms === null) return null;
  const off = median(steps.map((step) => Math.abs(atTwentyFive(step) - ohms))) ?? 0;
  return {
    ohms,
    spread: (1.4826 * 1.2533 * off) / ohms / Math.sqrt(steps.length),
    coldness: steps.reduce((sum, { temperature }) => sum + coldness(temperature), 0) / steps.length,
  };
}
