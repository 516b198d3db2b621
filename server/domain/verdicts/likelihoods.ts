/** P(clue value | cause), the one table behind every verdict.
 *
 *  Each row is one value of a clue; its columns are the causes in catalogue order (causes.ts). Numbers are relative
 *  weights within a column: `likelihoodOf` divides by the column's sum, so that a column is a distribution over the
 *  clue's values. Nothing is 0: no single clue may make a cause impossible. Clues that speak of the same thing (how
 *  the battery went and how the unit came back; a dead line and what it hides; a drop and which kinds dropped) are
 *  one clue with joint values, so that nothing is counted twice.
 *
 *  In the rows that speak of trouble in the unit itself no cause has a lower number than the person's: such a sign
 *  can then never make the person likelier, whatever else is known (tested).
 *
 *  Origin of every number: assumption, unless its clue says otherwise; each is to be replaced by confirmed outcomes. */
export interface ClueTable {
  readonly origin: string;
  readonly values: Readonly<Record<string, readonly number[]>>;
}

const assumed = "assumption, to be replaced by confirmed outcomes";

export const thinLikelihoods = {
  /** What the unit could see: a grid finding and what it hides of this person's own reliefs, as one clue. */
  eyes: {
    origin: `${assumed}; few units have an open line at any time; what opened in the last days is not found yet`,
    values: {
      //                ordin  fewer  prompt line   drift  unseen one    insert other  rules
      "hides-usual": [0.015, 0.015, 0.015, 0.78, 0.03, 0.015, 0.015, 0.015, 0.015, 0.015],
      "dead-elsewhere": [0.03, 0.03, 0.03, 0.06, 0.03, 0.03, 0.03, 0.03, 0.03, 0.03],
      drift: [0.04, 0.04, 0.04, 0.04, 0.62, 0.04, 0.04, 0.04, 0.04, 0.04],
      "insert-off": [0.01, 0.01, 0.01, 0.02, 0.02, 0.01, 0.01, 0.4, 0.03, 0.01],
      sound: [0.905, 0.905, 0.905, 0.105, 0.3, 0.905, 0.905, 0.515, 0.885, 0.905],
    },
  },
  /** The last days against this person's own earlier ones, and what kind of change. */
  change: {
    origin: `${assumed}; long sits without a relief are common in good data (activity study of full-time users)`,
    values: {
      "usually-few": [0.56, 0.08, 0.08, 0.06, 0.08, 0.25, 0.56, 0.08, 0.08, 0.08],
      isolated: [0.405, 0.2, 0.15, 0.1, 0.22, 0.38, 0.405, 0.27, 0.6, 0.17],
      "dropped-one-direction": [0.004, 0.35, 0.03, 0.76, 0.2, 0.04, 0.004, 0.08, 0.05, 0.05],
      "dropped-swapped": [0.001, 0.01, 0.01, 0.02, 0.03, 0.02, 0.001, 0.28, 0.05, 0.01],
      "dropped-all": [0.03, 0.36, 0.73, 0.06, 0.47, 0.31, 0.03, 0.29, 0.22, 0.69],
    },
  },
  /** Reliefs that fell due in it. One that was made and not counted can fill three; for more it takes two. */
  "how-long": {
    origin: `${assumed}; a unit misses about one relief in twenty-five`,
    values: {
      three: [0.52, 0.48, 0.5, 0.6, 0.5, 0.5, 0.94, 0.5, 0.5, 0.55],
      more: [0.48, 0.52, 0.5, 0.4, 0.5, 0.5, 0.06, 0.5, 0.5, 0.45],
    },
  },
  /** Reliefs soon after a prompt, now against before. */
  prompts: {
    origin: assumed,
    values: {
      fading: [0.1, 0.4, 0.8, 0.25, 0.25, 0.2, 0.1, 0.25, 0.3, 0.15],
      holding: [0.9, 0.6, 0.2, 0.75, 0.75, 0.8, 0.9, 0.75, 0.7, 0.85],
    },
  },
  /** Reliefs within the stretch that were short or broken off; some of them would have counted under the plan before. */
  tries: {
    origin: assumed,
    values: {
      "counted-before": [0.01, 0.015, 0.01, 0.02, 0.02, 0.02, 0.01, 0.02, 0.01, 0.62],
      some: [0.24, 0.28, 0.19, 0.28, 0.57, 0.33, 0.24, 0.38, 0.14, 0.15],
      none: [0.74, 0.69, 0.79, 0.69, 0.4, 0.64, 0.74, 0.59, 0.85, 0.23],
    },
  },
  /** Load and its centre against this person's own. */
  load: {
    origin: assumed,
    values: {
      same: [0.9, 0.88, 0.9, 0.75, 0.55, 0.9, 0.9, 0.4, 0.2, 0.9],
      different: [0.08, 0.1, 0.08, 0.1, 0.42, 0.08, 0.08, 0.15, 0.7, 0.08],
      turned: [0.02, 0.02, 0.02, 0.15, 0.03, 0.02, 0.02, 0.45, 0.1, 0.02],
    },
  },
  note: {
    origin: `${assumed}; notes are sometimes wrong or missing`,
    values: {
      "washed-cover": [0.05, 0.05, 0.05, 0.08, 0.05, 0.05, 0.05, 0.4, 0.02, 0.02],
      "new-chair": [0.03, 0.03, 0.03, 0.04, 0.03, 0.06, 0.03, 0.08, 0.2, 0.05],
      visit: [0.07, 0.07, 0.07, 0.08, 0.07, 0.07, 0.07, 0.1, 0.03, 0.2],
      none: [0.85, 0.85, 0.85, 0.8, 0.85, 0.82, 0.85, 0.42, 0.75, 0.73],
    },
  },
  plan: {
    origin: assumed,
    values: {
      changed: [0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.7],
      same: [0.9, 0.9, 0.9, 0.9, 0.9, 0.9, 0.9, 0.9, 0.9, 0.3],
    },
  },
} as const satisfies Record<string, ClueTable>;

/** P(the clue takes one of `values` | cause), one number a cause. Several values: all that is known is that it is one
 *  of them. @throws where the table has no such value: a bug, not a case. */
export function likelihoodOf(table: ClueTable, values: readonly string[]): number[] {
  const rows = Object.values(table.values);
  return columnSums(values.map((value) => rowOf(table, value))).map((part, cause) => {
    const whole = rows.reduce((sum, row) => sum + (row[cause] ?? 0), 0);
    return part / whole;
  });
}

function rowOf(table: ClueTable, value: string): readonly number[] {
  const row = table.values[value];
  if (!row) throw new Error(`no likelihoods for ${value}`);
  return row;
}

function columnSums(rows: readonly (readonly number[])[]): number[] {
  const width = rows[0]?.length ?? 0;
  return Array.from({ length: width }, (_, column) => rows.reduce((sum, row) => sum + (row[column] ?? 0), 0));
}
