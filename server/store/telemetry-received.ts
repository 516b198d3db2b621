import { maximumHolesPerBoot } from "../../firmware-protocol/src/limits.ts";
import type { UnitSerial } from "../domain/ids.ts";
import type { StoredUpTo } from "./telemetry-port.ts";
import { mergeRanges, receivedUpTo, type SequenceRange } from "./telemetry-ranges.ts";
import type { RangeRow, TelemetryStatements } from "./telemetry-statements.ts";

/** Adds sequences to what is settled of a boot: stored, kept aside, or reported lost by the unit itself ([FP-6.9] a
 *  receipt doesn't ask for those). Touches only the ranges they join, however many there are. */
export function markSettled(
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

/** What a receipt may say of one boot; null when nothing of it has come. */
export function storedUpTo(
  statements: TelemetryStatements,
  unit: UnitSerial,
  boot: number,
): StoredUpTo | null {
  // One range more than the holes that fit: with a hole before the first range, or without, the list is cut in time.
  const first = statements.firstRanges.all(unit, boot, maximumHolesPerBoot + 2);
  const upTo = receivedUpTo(first);
  return upTo === null ? null : { boot, ...upTo };
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
