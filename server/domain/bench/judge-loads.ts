import { countedLine, measuredLine, procedureLine } from "./decision.ts";
import {
  countingOf,
  filled,
  type MeasuredLoad,
  measuredLoad,
  type Place,
  places,
  type Response,
  referenceComponents,
  responseOf,
  sums,
  without,
} from "./grid-load.ts";
import type { AppliedLoad, JudgedLine, PointReading } from "./reading.ts";
import type { BenchTolerances } from "./tolerances.ts";
import { type Component, combined, rectangular, typeA } from "./uncertainty.ts";

/** What the steps before have found, and what the model asks. */
export interface LoadContext {
  readonly tolerances: BenchTolerances;
  readonly pitchMillimetres: number;
  readonly empty: readonly number[];
  readonly bad: ReadonlySet<number>;
}

/** How exactly a hand lays a weight on its mark. Assumption. */
const placedWithinMillimetres = 5;

const responseIn = (reading: PointReading, { empty, bad }: LoadContext): Response =>
  filled(responseOf(reading, empty), bad);

interface Compared extends MeasuredLoad {
  readonly reference: AppliedLoad;
  /** What the grid says less what lies on it, kg. */
  readonly error: number;
}

/** null where nothing known lay on it: a step asks for it, so that is a fault of ours. */
function compared(reading: PointReading, context: LoadContext): Compared {
  if (reading.reference === null) throw new Error(`${reading.point} was read without a known load`);
  const load = measuredLoad(responseIn(reading, context), context.tolerances.countsPerKilogram);
  return { ...load, reference: reading.reference, error: load.kilograms - reading.reference.kilograms };
}

/** Every weight and every place: what it reads, and where it seems to lie. */
export function judgeKnownWeight(reading: PointReading, context: LoadContext): readonly JudgedLine[] {
  const { tolerances } = context;
  const { error, components, reference } = compared(reading, context);
  const allowed = tolerances.loadError * reference.kilograms;
  const where = reading.point.replace("-", " ");
  return [
    measuredLine({
      name: `${where}: error of ${reference.kilograms} kg`,
      unit: "kg",
      value: error,
      budget: combined([...components, ...referenceComponents(reference)]),
      limits: { low: -allowed, high: allowed },
    }),
    placeLine(reading, context, where),
  ];
}

function placeLine(reading: PointReading, context: LoadContext, where: string): JudgedLine {
  const { pitchMillimetres, tolerances } = context;
  const expected = expectedPlace(reading);
  const seen = places(responseIn(reading, context)).filter((each): each is Place => each !== null);
  const name = `${where}: off its place`;
  const limits = { low: null, high: tolerances.placeError };
  if (seen.length < 2)
    return countedLine(`${where}: readings that show it`, seen.length, { low: 2, high: null });
  const offRight = typeA(seen.map(({ right }) => (right - expected.right) * pitchMillimetres));
  const offFront = typeA(seen.map(({ front }) => (front - expected.front) * pitchMillimetres));
  const components: readonly Component[] = [
    { name: "repeats, across", ...offRight },
    { name: "repeats, along", ...offFront },
    { name: "laying it on", standard: rectangular(placedWithinMillimetres), degreesOfFreedom: null },
  ];
  const value = Math.hypot(offRight.mean, offFront.mean);
  return measuredLine({ name, unit: "mm", value, budget: combined(components), limits });
}

/** In cells from the middle: a quarter in from the edges is a quarter of the seat from the middle. */
function expectedPlace({ point, rows, columns }: PointReading): Place {
  const right = point.endsWith("left") ? -columns / 4 : point.endsWith("right") ? columns / 4 : 0;
  const front = point.startsWith("front") ? rows / 4 : point.startsWith("rear") ? -rows / 4 : 0;
  return { right, front };
}

/** Falling less rising over the full load, each less what really lay on it. */
export function judgeHysteresis(
  readings: ReadonlyMap<string, PointReading>,
  context: LoadContext,
): readonly JudgedLine[] {
  const top = readings.get("top");
  if (top?.reference == null) return [];
  const full = top.reference.kilograms;
  return ["low", "middle"].flatMap((at) => {
    const up = readings.get(`up-${at}`);
    const down = readings.get(`down-${at}`);
    if (up === undefined || down === undefined) return [];
    const [rising, falling] = [compared(up, context), compared(down, context)];
    const scaled = [...rising.components, ...falling.components].map((each) => ({
      ...each,
      standard: each.standard / full,
    }));
    // The same rig reads both: its certificate cancels out, its display doesn't.
    const display = rectangular(rising.reference.resolution / 2) / full;
    const allowed = context.tolerances.hysteresis;
    return [
      measuredLine({
        name: `Falling less rising at ${at === "low" ? "a third" : "two thirds"}`,
        unit: "of full load",
        value: (falling.error - rising.error) / full,
        budget: combined([
          ...scaled,
          { name: "display", standard: display * Math.SQRT2, degreesOfFreedom: null },
        ]),
        limits: { low: -allowed, high: allowed },
      }),
    ];
  });
}

export function judgeHold(
  begin: PointReading,
  end: PointReading,
  context: LoadContext,
): readonly JudgedLine[] {
  const { tolerances } = context;
  const held = (end.takenAt - begin.takenAt) / 60_000;
  const first = typeA(sums(responseIn(begin, context)));
  const last = typeA(sums(responseIn(end, context)));
  const counting = countingOf(begin.rows * begin.columns);
  const share = first.mean <= 0 ? 0 : last.mean / first.mean - 1;
  const over = (standard: number): number => (first.mean <= 0 ? 0 : standard / first.mean);
  return [
    procedureLine("Time held", "min", held, { low: tolerances.holdMinutes, high: null }),
    measuredLine({
      name: "Rise over the hold",
      unit: "of the load",
      value: share,
      budget: combined([
        { name: "first repeats", standard: over(first.standard), degreesOfFreedom: first.degreesOfFreedom },
        { name: "last repeats", standard: over(last.standard), degreesOfFreedom: last.degreesOfFreedom },
        { name: "whole counts", standard: over(counting), degreesOfFreedom: null },
      ]),
      limits: { low: -tolerances.creep, high: tolerances.creep },
    }),
  ];
}

/** @param even the even load at the first temperature
 *  @param warmEmpty and @param warmLoad at the second */
export function judgeTemperature(
  even: PointReading,
  warmEmpty: PointReading,
  warmLoad: PointReading,
  context: LoadContext,
): readonly JudgedLine[] {
  const { tolerances } = context;
  const step = Math.abs(warmLoad.temperature - even.temperature);
  const distance = procedureLine("Distance of the temperatures", "°C", step, {
    low: tolerances.temperatureStep,
    high: null,
  });
  if (step === 0) return [distance];
  const cold = compared(even, context);
  const warm = compared(warmLoad, { ...context, empty: emptyOf(warmEmpty) });
  const gain = (load: Compared): number => load.kilograms / load.reference.kilograms;
  const each = ({ components, reference, kilograms }: Compared): readonly Component[] =>
    [...components, ...referenceComponents(reference)].map((one) => ({
      ...one,
      standard: kilograms <= 0 ? 0 : one.standard / kilograms / step,
    }));
  const value =
    gain(cold) <= 0 ? 0 : (gain(warm) / gain(cold) - 1) / (warmLoad.temperature - even.temperature);
  return [
    distance,
    measuredLine({
      name: "Change of gain for each °C",
      unit: "for each °C",
      value,
      budget: combined([...each(cold), ...each(warm)]),
      limits: { low: -tolerances.gainPerDegree, high: tolerances.gainPerDegree },
    }),
  ];
}

const emptyOf = ({ frames }: PointReading): number[] =>
  (frames[0] ?? []).map((_, cell) => typeA(frames.map((frame) => frame[cell] ?? 0)).mean);

/** As the unit itself sees it: cells that don't count add nothing. */
export function judgeLean(
  rest: PointReading,
  lean: PointReading,
  { tolerances, empty, bad }: LoadContext,
): JudgedLine {
  const centre = (reading: PointReading) =>
    places(without(responseOf(reading, empty), bad)).filter((each): each is Place => each !== null);
  const along = lean.point === "forward";
  const half = (along ? rest.rows : rest.columns) / 2;
  const sign = lean.point === "left" ? -1 : 1;
  const share = (each: Place): number => (sign * (along ? each.front : each.right)) / half;
  const [from, to] = [centre(rest).map(share), centre(lean).map(share)];
  const name = `Lean ${lean.point === "forward" ? "forward" : `to the ${lean.point}`}`;
  if (from.length < 2 || to.length < 2)
    return countedLine(`${name}: readings that show it`, Math.min(from.length, to.length), {
      low: 2,
      high: null,
    });
  const [before, after] = [typeA(from), typeA(to)];
  return measuredLine({
    name,
    unit: "of the half seat",
    value: after.mean - before.mean,
    budget: combined([
      { name: "repeats at rest", ...before },
      { name: "repeats leaning", ...after },
    ]),
    limits: { low: tolerances.leanShift, high: null },
  });
}
