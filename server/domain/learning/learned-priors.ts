import { type Cause, catalogue, type PriorTableName, priorsFor } from "../verdicts/causes.ts";
import type { Side } from "../verdicts/verdict.ts";

/** What a stretch turned out to be, as far as somebody found out. `cause` null: only the side. */
export interface KnownOutcome {
  readonly table: PriorTableName;
  readonly side: Side;
  readonly cause: string | null;
}

export interface LearningRules {
  /** 1: learned shares are in force where there are enough; 0: the documented ones are. */
  readonly useLearnedShares: number;
  /** Outcomes of a table from which what was learned takes effect. */
  readonly learnedFrom: number;
  /** How many outcomes the documented shares are worth. */
  readonly documentedWorth: number;
}

export interface LearnedTable {
  readonly table: PriorTableName;
  readonly outcomes: number;
  /** In catalogue order. An outcome of which only the side is known is divided among its causes by their documented
   *  shares, never by a verdict's. */
  readonly counts: readonly number[];
  readonly documented: readonly number[];
  readonly learned: readonly number[];
  readonly inForce: boolean;
}

const kindOf = (table: PriorTableName) => (table === "thin" ? "thin" : "gap");

/** Starting shares after what was found out: the mean of a Dirichlet distribution whose parameters are the documented
 *  shares, worth `documentedWorth` outcomes, with the counts added.
 *  Source: the multinomial model with its conjugate prior, e.g. Gelman et al., Bayesian Data Analysis, 3rd ed., sec. 3.4;
 *  with flat shares worth one each it is Laplace's rule of succession, (count + 1) / (n + causes) */
export function learnedTable(
  table: PriorTableName,
  outcomes: readonly KnownOutcome[],
  rules: LearningRules,
): LearnedTable {
  const causes = catalogue(kindOf(table));
  const documented = priorsFor(table);
  const own = outcomes.filter((outcome) => outcome.table === table);
  const counts = documented.map(() => 0);
  for (const outcome of own) {
    shareOut(outcome, causes, documented).forEach((part, index) => {
      counts[index] = (counts[index] ?? 0) + part;
    });
  }
  const { documentedWorth: worth } = rules;
  const learned = documented.map(
    (share, index) => (worth * share + (counts[index] ?? 0)) / (worth + own.length),
  );
  const inForce = rules.useLearnedShares >= 0.5 && own.length >= rules.learnedFrom;
  return { table, outcomes: own.length, counts, documented, learned, inForce };
}

function shareOut(
  { side, cause }: KnownOutcome,
  causes: readonly Cause[],
  documented: readonly number[],
): number[] {
  if (cause !== null) return causes.map(({ id }) => (id === cause ? 1 : 0));
  const ofSide = causes.map((one, index) => (one.side === side ? (documented[index] ?? 0) : 0));
  const all = ofSide.reduce((sum, share) => sum + share, 0);
  return ofSide.map((share) => (all > 0 ? share / all : 0));
}
