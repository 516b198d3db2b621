import { gapClueWords, thinClueWords } from "./clue-words.ts";
import { gapLikelihoods } from "./gap-likelihoods.ts";
import { likelihoodOf, thinLikelihoods } from "./likelihoods.ts";
import type { Observation } from "./observation.ts";
import type { StretchKind } from "./verdict.ts";

/** One clue taken to be something else than it was seen to be. */
export interface OtherEvidence {
  readonly clue: string;
  readonly value: string;
  /** "the cell had faded" */
  readonly words: string;
  /** Place among the observations of the clue it stands instead of; null: nothing was known of it. */
  readonly insteadOf: number | null;
  readonly row: readonly number[];
  /** Somebody may still find it: a note, a finding, what a silent unit tells when it comes back. What was measured at the
   *  time stays as it was measured. */
  readonly mayStillCome: boolean;
}

/** What is still to be found out of a stretch that has ended; of one that goes on, also how it comes back. */
const mayCome: Readonly<Record<StretchKind, readonly string[]>> = {
  gap: ["note", "certificate", "capacity", "charging", "electronics"],
  thin: ["note", "eyes"],
};
/** Clues that may be unknown and become known; of the others something else was seen in their place. */
const mayBeUnknown: Readonly<Record<StretchKind, readonly string[]>> = {
  gap: ["certificate", "capacity", "electronics"],
  thin: ["eyes"],
};

/** Every single value that each clue might have had instead, with how likely it is under each cause. */
export function otherEvidence(
  kind: StretchKind,
  ongoing: boolean,
  observations: readonly Observation[],
): OtherEvidence[] {
  const seen = observations.flatMap((one, place) => [
    ...insteadOf(kind, place, one),
    // A silent unit says on its return what became of its power; that then stands in place of how it went.
    ...(kind === "gap" && ongoing && one.clue === "battery-before"
      ? valuesOf(kind, "power", place).map((other) => ({ ...other, mayStillCome: true }))
      : []),
  ]);
  const known = new Set(observations.map(({ clue }) => clue));
  const unknown = mayBeUnknown[kind].filter((clue) => !known.has(clue));
  return [...seen, ...unknown.flatMap((clue) => valuesOf(kind, clue, null))];
}

function insteadOf(kind: StretchKind, place: number, { clue, values, others }: Observation): OtherEvidence[] {
  if (others) {
    return others.map((other) => ({ clue, ...other, insteadOf: place, mayStillCome: false }));
  }
  const only = values.length === 1 ? values[0] : null;
  return valuesOf(kind, clue, place).filter(({ value }) => value !== only);
}

function valuesOf(kind: StretchKind, clue: string, place: number | null): OtherEvidence[] {
  const rows = rowsOf(kind)[clue] ?? [];
  return rows.map((one) => ({ ...one, insteadOf: place, mayStillCome: mayCome[kind].includes(clue) }));
}

type Row = Pick<OtherEvidence, "clue" | "value" | "words" | "row">;

const rowsIn = (
  tables: typeof gapLikelihoods | typeof thinLikelihoods,
  words: Readonly<Record<string, Readonly<Record<string, string>>>>,
): Readonly<Record<string, readonly Row[]>> =>
  Object.fromEntries(
    Object.entries(tables).map(([clue, table]) => [
      clue,
      Object.keys(table.values).map((value) => ({
        clue,
        value,
        words: words[clue]?.[value] ?? value,
        row: likelihoodOf(table, [value]),
      })),
    ]),
  );

const gapRows = rowsIn(gapLikelihoods, gapClueWords);
const thinRows = rowsIn(thinLikelihoods, thinClueWords);
const rowsOf = (kind: StretchKind) => (kind === "gap" ? gapRows : thinRows);
