/** One line of the table, and of the JSON at the end. `bar` null: told for comparison, nothing is asked of it. */
export interface Row {
  readonly name: string;
  readonly value: number;
  readonly unit: string;
  readonly bar: number | null;
  readonly holds: boolean | null;
}

export const atMost = (name: string, value: number, unit: string, bar: number): Row => ({
  name,
  value,
  unit,
  bar,
  holds: value <= bar,
});
export const atLeast = (name: string, value: number, unit: string, bar: number): Row => ({
  name,
  value,
  unit,
  bar,
  holds: value >= bar,
});
export const beside = (name: string, value: number, unit: string): Row => ({
  name,
  value,
  unit,
  bar: null,
  holds: null,
});

export function printRows(rows: readonly Row[]): void {
  const width = Math.max(...rows.map(({ name }) => name.length));
  for (const { name, value, unit, bar, holds } of rows) {
    const verdict = holds === null ? "" : holds ? `  holds (bar ${bar})` : `  MISSED (bar ${bar})`;
    process.stdout.write(`${name.padEnd(width)}  ${shown(value).padStart(9)} ${unit}${verdict}\n`);
  }
}

const shown = (value: number): string => (Number.isInteger(value) ? String(value) : value.toPrecision(4));

/** Counts of pairs as a table, rows the truth. */
export function printConfusion(
  title: string,
  pairs: readonly (readonly [truth: string, said: string])[],
): void {
  const said = [...new Set(pairs.map((pair) => pair[1]))].sort();
  process.stdout.write(
    `\n${title}\n${"".padEnd(16)}${said.map((name) => name.slice(0, 12).padStart(14)).join("")}\n`,
  );
  for (const truth of [...new Set(pairs.map((pair) => pair[0]))].sort()) {
    const own = pairs.filter((pair) => pair[0] === truth);
    const counts = said.map((name) => String(own.filter((pair) => pair[1] === name).length).padStart(14));
    process.stdout.write(`${truth.padEnd(16)}${counts.join("")}\n`);
  }
}
