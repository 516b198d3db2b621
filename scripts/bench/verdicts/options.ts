export interface BenchOptions {
  readonly seeds: readonly number[];
  readonly people: number;
  readonly days: number;
  /** Programmes, of other seeds, that the oracle counts in. */
  readonly oracleSeeds: readonly number[];
  readonly quick: boolean;
}

/** Seeds that are reported by default; 1 to 5 were for looking. */
const reported = [101, 102, 103, 104, 105, 106, 107, 108, 109, 110];
const counted = [201, 202, 203, 204, 205, 206];

export function optionsFor({ quick, seed }: { quick: boolean; seed: number | null }): BenchOptions {
  return {
    quick,
    seeds: seed !== null ? [seed] : quick ? [101] : reported,
    people: quick ? 40 : 200,
    days: 90,
    oracleSeeds: quick ? counted.slice(0, 2) : counted,
  };
}
