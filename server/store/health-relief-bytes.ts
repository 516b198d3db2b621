import {
  breakOffReasons,
  type RecordedRelief,
  type ReliefKind,
  reliefKinds,
} from "../domain/record/unit-record.ts";
import { instant, percent, probability, seconds } from "../domain/units.ts";
import type { ArrayReader } from "./array-bytes.ts";

/** Numbers of one relief: when, when it came, how long, how deep, and what either side carried (NaN: not told). */
const numbers = 6;
/** And its kind, its outcome, whether it was prompted, and from 1 on why it was broken off. */
const marks = 4;

/** Two arrays, a row for each relief. */
export function reliefArrays(reliefs: readonly RecordedRelief[]): readonly [Float64Array, Uint8Array] {
  return [
    Float64Array.from(
      reliefs.flatMap(({ at, receivedAt, hold, depth, sideLoad }) => [
        at,
        receivedAt,
        hold,
        depth,
        sideLoad?.left ?? Number.NaN,
        sideLoad?.right ?? Number.NaN,
      ]),
    ),
    Uint8Array.from(
      reliefs.flatMap(({ kind, outcome, prompted, brokenOff }) => [
        reliefKinds.indexOf(kind),
        outcome === "complete" ? 1 : 0,
        prompted ? 1 : 0,
        brokenOff === undefined ? 0 : 1 + breakOffReasons.indexOf(brokenOff),
      ]),
    ),
  ];
}

export function readReliefs(read: ArrayReader): RecordedRelief[] {
  const number = read.float64();
  const mark = read.uint8();
  return Array.from({ length: number.length / numbers }, (_, row): RecordedRelief => {
    const [n, m] = [row * numbers, row * marks];
    const [left, right] = [number[n + 4] ?? Number.NaN, number[n + 5] ?? Number.NaN];
    const brokenOff = breakOffReasons[(mark[m + 3] ?? 0) - 1];
    return {
      at: instant(number[n] ?? 0),
      receivedAt: instant(number[n + 1] ?? 0),
      kind: kindOf(mark[m]),
      hold: seconds(number[n + 2] ?? 0),
      depth: probability(number[n + 3] ?? 0),
      outcome: mark[m + 1] === 1 ? "complete" : "broken-off",
      prompted: mark[m + 2] === 1,
      ...(brokenOff === undefined ? {} : { brokenOff }),
      ...(Number.isNaN(left) ? {} : { sideLoad: { left: percent(left), right: percent(right) } }),
    };
  });
}

function kindOf(place: number | undefined): ReliefKind {
  const kind = reliefKinds[place ?? -1];
  if (kind === undefined) throw new RangeError("a kept relief is of no kind");
  return kind;
}
