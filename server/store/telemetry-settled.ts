import type { UnitSerial } from "../domain/ids.ts";
import type { StoredUpTo } from "./telemetry-port.ts";
import { mergeRanges, receivedUpTo, type SequenceRange } from "./telemetry-ranges.ts";
import { bootKey, Remembered } from "./telemetry-remembered.ts";
import type { TelemetryStatements } from "./telemetry-statements.ts";

const mostBoots = 50_000;

/** What of each boot is settled: stored, kept aside, or reported lost by the unit itself ([FP-6.9] a receipt doesn't ask
 *  for those). Remembered, so that a new message is told from a resend without asking the tables. */
export class SettledSequences {
  readonly #statements: TelemetryStatements;
  /** Merged, in order. */
  readonly #known = new Remembered<SequenceRange[]>(mostBoots);

  constructor(statements: TelemetryStatements) {
    this.#statements = statements;
  }

  /** A sequence that isn't settled can't be stored. */
  has(unit: UnitSerial, boot: number, sequence: number): boolean {
    const ranges = this.#of(unit, boot);
    const range = ranges[firstEndingAtOrAfter(ranges, sequence)];
    return range !== undefined && range.from <= sequence;
  }

  add(unit: UnitSerial, boot: number, range: SequenceRange): void {
    const ranges = this.#of(unit, boot);
    const at = firstEndingAtOrAfter(ranges, range.from - 1);
    let end = at;
    let { from, to } = range;
    for (let touched = ranges[end]; touched !== undefined && touched.from <= range.to + 1; ) {
      from = Math.min(from, touched.from);
      to = Math.max(to, touched.to);
      touched = ranges[++end];
    }
    ranges.splice(at, end - at, { from, to });
  }

  /** What a receipt may say of one boot; null when nothing of it has come. */
  upTo(unit: UnitSerial, boot: number): StoredUpTo | null {
    const upTo = receivedUpTo(this.#of(unit, boot));
    return upTo === null ? null : { boot, ...upTo };
  }

  forget(): void {
    this.#known.clear();
  }

  #of(unit: UnitSerial, boot: number): SequenceRange[] {
    const known = this.#known.get(bootKey(unit, boot));
    if (known !== undefined) return known;
    const recent = this.#statements.recentOfBoot.all(unit, boot);
    const ranges = mergeRanges([
      ...this.#statements.rangesOfBoot.all(unit, boot).map(({ from, to }) => ({ from, to })),
      ...recent.map((sequence) => ({ from: sequence, to: sequence })),
    ]);
    this.#known.set(bootKey(unit, boot), ranges);
    return ranges;
  }
}

/** @returns the place of the first range that ends at `sequence` or later; the length when none does */
function firstEndingAtOrAfter(ranges: readonly SequenceRange[], sequence: number): number {
  let low = 0;
  let high = ranges.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    const range = ranges[middle];
    if (range !== undefined && range.to < sequence) low = middle + 1;
    else high = middle;
  }
  return low;
}
