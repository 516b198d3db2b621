import type { UnitSerial } from "../domain/ids.ts";
import { mergeRanges, type SequenceRange } from "./telemetry-ranges.ts";
import type { RangeRow, TelemetryStatements } from "./telemetry-statements.ts";

/** Writes down what is settled of a boot, where no recent message says so: it is packed, kept aside or lost. Touches
 *  only the ranges they join, however many there are. */
export function writeSettled(
  statements: TelemetryStatements,
  unit: UnitSerial,
  boot: number,
  settled: readonly SequenceRange[],
): void {
  for (const run of mergeRanges(settled)) {
    const touching = rangesTouching(statements, unit, boot, run);
    const [joined] = mergeRanges([...touching, run]);
    if (joined) replaceRanges(statements, unit, boot, touching, joined);
  }
}

function rangesTouching(
  statements: TelemetryStatements,
  unit: UnitSerial,
  boot: number,
  run: SequenceRange,
): RangeRow[] {
  const touching: RangeRow[] = [];
  for (const range of statements.rangesUpTo.iterate(unit, boot, run.to + 1)) {
    if (range.to < run.from - 1) break;
    touching.push(range);
  }
  return touching;
}

function replaceRanges(
  statements: TelemetryStatements,
  unit: UnitSerial,
  boot: number,
  touching: readonly SequenceRange[],
  joined: SequenceRange,
): void {
  const kept = touching.find(({ from }) => from === joined.from);
  for (const { from } of touching) if (from !== joined.from) statements.dropRange.run(unit, boot, from);
  if (kept === undefined) statements.addRange.run(unit, boot, joined.from, joined.to);
  else if (kept.to !== joined.to) statements.stretchRange.run(joined.to, unit, boot, joined.from);
}
