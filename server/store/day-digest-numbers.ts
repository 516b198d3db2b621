import { type ReliefKind, reliefKinds } from "../domain/record/unit-record.ts";
import type { DayDigest } from "../domain/verdicts/day-digest.ts";

/** A digest as the column `digest` keeps it: reliefs by kind in the order of `reliefKinds`, then the other sums. */
export const digestNumbers = (digest: DayDigest): readonly number[] => [
  ...reliefKinds.map((kind) => digest.reliefs[kind] ?? 0),
  digest.prompted,
  digest.promptsGiven,
  digest.promptsFollowed,
  digest.unprompted,
  digest.seatedMinutes,
  digest.load,
  digest.centreRight,
  digest.centreFront,
  digest.stirs.reliefs,
  digest.stirs.atReliefs,
  digest.stirs.elsewhere,
];

export function digestFrom(numbers: readonly number[]): DayDigest {
  const reliefs: Partial<Record<ReliefKind, number>> = {};
  for (const [place, kind] of reliefKinds.entries()) {
    const count = numbers[place] ?? 0;
    if (count > 0) reliefs[kind] = count;
  }
  const sum = (place: number): number => numbers[reliefKinds.length + place] ?? 0;
  return {
    reliefs,
    prompted: sum(0),
    promptsGiven: sum(1),
    promptsFollowed: sum(2),
    unprompted: sum(3),
    seatedMinutes: sum(4),
    load: sum(5),
    centreRight: sum(6),
    centreFront: sum(7),
    stirs: { reliefs: sum(8), atReliefs: sum(9), elsewhere: sum(10) },
  };
}
