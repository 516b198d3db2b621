export interface BenchOptions {
  readonly quick: boolean;
  readonly seed: number;
}

/** One bar and what was seen of it. `beside` isn't part of the bar: sample size, and the best that could be done. */
export interface Row {
  readonly name: string;
  readonly value: number;
  readonly unit: string;
  readonly bar: string;
  readonly holds: boolean;
  readonly beside: string;
}

export const round = (value: number, places = 3): number => Number(value.toFixed(places));

export const shareOf = (hits: number, of: number): number => (of === 0 ? Number.NaN : hits / of);

export function middleOf(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor((sorted.length - 1) / 2)] ?? Number.NaN;
}

export function printTable(rows: readonly Row[]): void {
  for (const { name, value, unit, bar, holds, beside } of rows) {
    process.stdout.write(
      `${holds ? "holds " : "MISSED"}  ${name}: ${Number.isNaN(value) ? "not measured" : value} ${unit} (bar: ${bar})${beside === "" ? "" : `; ${beside}`}\n`,
    );
  }
}

/** The last line of a bench. */
export function printJson(bench: string, rows: readonly Row[]): void {
  const told = rows.map(({ name, value, unit, bar, holds }) => ({ name, value, unit, bar, holds }));
  process.stdout.write(`${JSON.stringify({ bench, rows: told })}\n`);
}
