import fc from "fast-check";
import { type ClueTable, likelihoodOf } from "../../server/domain/verdicts/likelihoods.ts";

/** Any clues, each with any non-empty set of its values. */
export const anyClues = (tables: Readonly<Record<string, ClueTable>>) =>
  fc
    .tuple(
      ...Object.entries(tables).map(([clue, table]) =>
        fc.option(
          fc.subarray(Object.keys(table.values), { minLength: 1 }).map((values) => ({ clue, values })),
        ),
      ),
    )
    .map((clues) => clues.filter((one) => one !== null));

export const rowOf = (
  tables: Readonly<Record<string, ClueTable>>,
  { clue, values }: { clue: string; values: string[] },
) => {
  const table = tables[clue];
  if (!table) throw new Error(clue);
  return likelihoodOf(table, values);
};
