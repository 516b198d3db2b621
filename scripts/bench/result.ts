/** One measured figure. `holds` is null where there is no bar: it is there to be compared with. */
export interface Row {
  readonly name: string;
  readonly value: number;
  readonly unit: string;
  readonly bar: string | null;
  readonly holds: boolean | null;
}

export const figure = (name: string, value: number, unit: string): Row => ({
  name,
  value: rounded(value),
  unit,
  bar: null,
  holds: null,
});

export const atMost = (name: string, value: number, unit: string, most: number): Row => ({
  ...figure(name, value, unit),
  bar: `at most ${most}`,
  holds: value <= most,
});

export const atLeast = (name: string, value: number, unit: string, least: number): Row => ({
  ...figure(name, value, unit),
  bar: `at least ${least}`,
  holds: value >= least,
});

const rounded = (value: number): number => Number(value.toPrecision(4));

/** A table for people, and then one line of JSON for programs. A bar that was missed says so. */
export function printed(bench: string, rows: readonly Row[]): string {
  const width = Math.max(...rows.map(({ name }) => name.length));
  const lines = rows.map(({ name, value, unit, bar, holds }) => {
    const verdict = holds === null ? "" : `  ${holds ? "holds" : "MISSED"} (${bar})`;
    return `${name.padEnd(width)}  ${String(value).padStart(10)} ${unit}${verdict}`;
  });
  return [...lines, JSON.stringify({ bench, rows })].join("\n");
}

/** Nearest rank: the smallest value that at least this share of them do not exceed. */
export function percentile(values: readonly number[], share: number): number {
  const sorted = values.toSorted((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.ceil(share * sorted.length) - 1)] ?? Number.NaN;
}

export const median = (values: readonly number[]): number => percentile(values, 0.5);
