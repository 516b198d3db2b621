import type { VarintReader, VarintWriter } from "./telemetry-varints.ts";

export function steps(values: readonly number[]): number[] {
  return values.map((value, at) => value - (at === 0 ? 0 : (values[at - 1] ?? 0)));
}

export function writeSteps(out: VarintWriter, values: readonly number[]): void {
  let before = 0;
  for (const value of values) {
    out.add(value - before);
    before = value;
  }
}

export function readSteps(from: VarintReader, count: number): Float64Array {
  const values = new Float64Array(count);
  from.nextSteps(values);
  return values;
}

// The rest work in place and without a call for each value: opening a month's blocks is on the way of every page.

export function summed(values: Float64Array): Float64Array {
  let value = 0;
  for (let at = 0; at < values.length; at++) {
    value += values[at] ?? 0;
    values[at] = value;
  }
  return values;
}

export function moved(values: Float64Array, by: number): Float64Array {
  for (let at = 0; at < values.length; at++) values[at] = (values[at] ?? 0) + by;
  return values;
}

export function subtracted(from: Float64Array, values: Float64Array): Float64Array {
  for (let at = 0; at < values.length; at++) values[at] = (from[at] ?? 0) - (values[at] ?? 0);
  return values;
}

/** How many bring minutes. */
export function counted(minutes: Float64Array): number {
  let holders = 0;
  for (let at = 0; at < minutes.length; at++) if ((minutes[at] ?? 0) > 0) holders += 1;
  return holders;
}

export function forEachMinute(minutes: Float64Array, values: Float64Array): Float64Array {
  let count = 0;
  for (let at = 0; at < minutes.length; at++) count += minutes[at] ?? 0;
  const spreadOut = new Float64Array(count);
  let next = 0;
  for (let at = 0; at < minutes.length; at++)
    for (let minute = minutes[at] ?? 0; minute > 0; minute--) spreadOut[next++] = values[at] ?? 0;
  return spreadOut;
}

/** The values of those that bring minutes, at their places among all; NaN at the others. */
export function spread(minutes: Float64Array, values: Float64Array): Float64Array {
  if (minutes.length === values.length) return values;
  const placed = new Float64Array(minutes.length);
  let next = 0;
  for (let at = 0; at < minutes.length; at++)
    placed[at] = (minutes[at] ?? 0) > 0 ? (values[next++] ?? 0) : Number.NaN;
  return placed;
}
