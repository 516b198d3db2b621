import { sides } from "../../../server/domain/verdicts/verdict.ts";

/** What somebody would say who knows the simulator: how often each side was behind just these clues, counted in other
 *  programmes of the same world. Where these very clues were seen seldom, it leans on the clues one by one, each with
 *  its own counted frequencies (naive Bayes), as if those had been seen `lean` times. */
export interface Oracle {
  sharesOf(clues: readonly string[]): number[];
}

const lean = 4;
const smoothing = 0.5;

export function learnOracle(
  seen: readonly { readonly side: string; readonly clues: readonly string[] }[],
): Oracle {
  const bySide = sides.map((side) => seen.filter((one) => one.side === side));
  const clueCounts = new Map<string, number[]>();
  const wholeCounts = new Map<string, number[]>();
  const add = (map: Map<string, number[]>, key: string, side: string): void => {
    const counts = map.get(key) ?? sides.map(() => 0);
    const at = sides.map(String).indexOf(side);
    counts[at] = (counts[at] ?? 0) + 1;
    map.set(key, counts);
  };
  for (const { clues, side } of seen) {
    add(wholeCounts, clues.join(" "), side);
    for (const clue of clues) add(clueCounts, clue, side);
  }
  const totals = bySide.map((list) => list.length + smoothing);
  const oneByOne = (clues: readonly string[]): number[] => {
    const logs = totals.map((total, side) =>
      clues.reduce(
        (sum, clue) =>
          sum + Math.log(((clueCounts.get(clue)?.[side] ?? 0) + smoothing) / (total + 2 * smoothing)),
        Math.log(total),
      ),
    );
    const highest = Math.max(...logs);
    return normal(logs.map((log) => Math.exp(log - highest)));
  };
  return {
    sharesOf: (clues) => {
      const counts = wholeCounts.get(clues.join(" ")) ?? sides.map(() => 0);
      const prior = oneByOne(clues);
      return normal(counts.map((count, side) => count + lean * (prior[side] ?? 0)));
    },
  };
}

function normal(weights: readonly number[]): number[] {
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  return weights.map((weight) => weight / total);
}
