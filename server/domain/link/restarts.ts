import type { RecordedBoot, RecordedFault, ResetReason } from "../record/unit-record.ts";
import { type Instant, millisecondsIn } from "../units.ts";

/** What a unit's restarts are put down to. */
export interface Restarts {
  readonly all: number;
  /** Resets the unit did not choose, without those after a flat cell. */
  readonly unwanted: number;
  readonly firstUnwantedAt: Instant | null;
  /** How often each reason was given for an unwanted one. */
  readonly unwantedBy: ReadonlyMap<ResetReason, number>;
  /** The cell was flat before: the battery's matter, not the electronics'. */
  readonly afterFlat: number;
  /** Boots that began without the time, so that their record is placed by what came before and after. */
  readonly withoutClock: number;
}

/** The voltage a unit last told before it fell silent. */
export interface LastCell {
  readonly at: Instant;
  readonly millivolts: number;
}

/** Under load a cell that reads less holds hardly a tenth of its charge (table of Chen et al. 2020: 3.296 V at rest). */
const nearlyEmpty = 3_330;
const unwantedReasons: ReadonlySet<ResetReason> = new Set(["brown-out", "watchdog"]);

/** @param boots oldest first; @param cells what was last told of each run on battery, oldest first */
export function restartsOf(
  boots: readonly RecordedBoot[],
  faults: readonly RecordedFault[],
  cells: readonly LastCell[],
): Restarts {
  const cutOffs = faults.flatMap(({ code, at }) => (code === "battery-cut-off" ? [at] : []));
  const isAfterFlat = (boot: RecordedBoot, before: RecordedBoot | undefined): boolean => {
    // A watchdog and a command have reasons of their own.
    if (boot.reset !== "brown-out" && boot.reset !== "power-on" && boot.reset !== "unknown") return false;
    const since = before?.at ?? boot.at - 28 * 24 * millisecondsIn.hour;
    if (cutOffs.some((at) => at >= since && at <= boot.at)) return true;
    const last = cells.findLast(({ at }) => at < boot.at);
    return last !== undefined && last.at >= since && last.millivolts <= nearlyEmpty;
  };
  const flat = new Set(boots.filter((boot, index) => isAfterFlat(boot, boots[index - 1])));
  const unwanted = boots.filter((boot) => unwantedReasons.has(boot.reset) && !flat.has(boot));
  const unwantedBy = new Map<ResetReason, number>();
  for (const { reset } of unwanted) unwantedBy.set(reset, (unwantedBy.get(reset) ?? 0) + 1);
  return {
    all: boots.length,
    unwanted: unwanted.length,
    firstUnwantedAt: unwanted[0]?.at ?? null,
    unwantedBy,
    afterFlat: flat.size,
    withoutClock: boots.filter(({ clockSet }) => !clockSet).length,
  };
}
