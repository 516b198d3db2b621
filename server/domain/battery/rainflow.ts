/** One cycle of a history, or half of one. */
export interface CountedCycle {
  readonly range: number;
  readonly mean: number;
  readonly count: 0.5 | 1;
}

/** Rainflow counting of peaks and valleys; what never closes counts as half cycles.
 *  @param series oldest first; values that are neither peak nor valley are passed over
 *  Source: ASTM E1049-85 (2017), section 5.4.4 */
export function rainflow(series: readonly number[]): CountedCycle[] {
  const cycles: CountedCycle[] = [];
  const stack: number[] = [];
  const count = (from: number, to: number, weight: 0.5 | 1) => {
    cycles.push({ range: Math.abs(to - from), mean: (from + to) / 2, count: weight });
  };
  for (const point of turningPoints(series)) {
    stack.push(point);
    while (stack.length >= 3) {
      const [before = 0, from = 0, to = 0] = stack.slice(-3);
      if (Math.abs(to - from) < Math.abs(from - before)) break;
      if (stack.length === 3) {
        // The range contains the start of the history: half a cycle, and the start moves on.
        count(before, from, 0.5);
        stack.shift();
        break;
      }
      count(before, from, 1);
      stack.splice(-3, 2);
    }
  }
  stack.slice(1).forEach((point, index) => {
    count(stack[index] ?? point, point, 0.5);
  });
  return cycles;
}

function turningPoints(series: readonly number[]): number[] {
  const points: number[] = [];
  for (const value of series) {
    const last = points.at(-1);
    const before = points.at(-2);
    if (value === last) continue;
    if (last !== undefined && before !== undefined && value > last === last > before) points.pop();
    points.push(value);
  }
  return points;
}
