import { keysOf } from "../domain/keys-of.ts";
import { type LearnedTable, learnedTable } from "../domain/learning/learned-priors.ts";
import { type PriorTableName, priorTables } from "../domain/verdicts/causes.ts";
import type { Database } from "../store/database.ts";
import { settingsInForce } from "../store/settings.ts";
import { latestOutcomes } from "../store/stretch-outcomes.ts";

const tableNames = keysOf(priorTables);

/** Every table of starting shares with what was learned of it. */
export function learnedShares(db: Database): readonly LearnedTable[] {
  const settings = settingsInForce(db);
  const outcomes = latestOutcomes(db).flatMap(({ priorTable, side, cause }) => {
    const table = tableNames.find((name) => name === priorTable);
    return table ? [{ table, side, cause }] : [];
  });
  return tableNames.map((table) => learnedTable(table, outcomes, settings));
}

/** The shares a verdict starts from: learned where they are in force, documented elsewhere. */
export function sharesInForce(db: Database): (table: PriorTableName) => readonly number[] {
  const tables = new Map(learnedShares(db).map((one) => [one.table, one]));
  return (table) => {
    const one = tables.get(table);
    if (!one) throw new Error(`no starting shares ${table}`);
    return one.inForce ? one.learned : one.documented;
  };
}
