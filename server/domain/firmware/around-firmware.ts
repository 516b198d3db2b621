import { chargeHistory } from "../battery/charge-history.ts";
import { chargeLasting } from "../battery/charge-lasting.ts";
import { joinedRuns } from "../battery/power-runs.ts";
import type { HealthDay } from "../condition/health-day.ts";
import { lastCells } from "../condition/unit-health.ts";
import { restartsOf } from "../link/restarts.ts";
import type { SequenceHole } from "../record/unit-record.ts";
import { changeIndex, type FirmwareChange, lastFirmwareChange } from "./firmware-change.ts";

/** What firmware may move. A relief is somebody's care: whoever asks says whether they may see it. */
export const firmwareMeasures = [
  "minutes-lost",
  "without-relay",
  "restarts",
  "hours-per-charge",
  "empty-reading",
  "reliefs-counted",
] as const;
export type FirmwareMeasure = (typeof firmwareMeasures)[number];

/** What one unit did in the days before its firmware changed and in those after; null: not seen in both. */
export interface AroundFirmware extends FirmwareChange {
  readonly moved: Readonly<Record<FirmwareMeasure, { before: number; after: number } | null>>;
}

/** As many days of each side: a fortnight of use is enough, and older days are of another season. Assumption. */
const mostDays = 14;
/** Fewer days of a side say too little of a unit. Assumption. */
const fewestDays = 5;

/** @param days of one unit under one person, oldest first; @param holes in what it told in that time
 *  @returns null where its firmware didn't change, or too few days are on record at either side */
export function aroundFirmware(
  days: readonly HealthDay[],
  holes: readonly SequenceHole[],
): AroundFirmware | null {
  const change = lastFirmwareChange(days);
  if (change === null) return null;
  const at = changeIndex(days);
  const before = days.slice(0, at).filter(({ firmware }) => firmware === change.from);
  const sides = [before.slice(-mostDays), days.slice(at + 1, at + 1 + mostDays)] as const;
  if (sides.some((side) => side.length < fewestDays)) return null;
  const [old, fresh] = sides;
  const pair = (of: (side: readonly HealthDay[]) => number | null) => {
    const [was, is] = [of(old), of(fresh)];
    return was === null || is === null ? null : { before: was, after: is };
  };
  return {
    ...change,
    moved: {
      "minutes-lost": pair((side) => lostShare(side, holes)),
      "without-relay": pair(withoutRelay),
      restarts: pair(restarts),
      "hours-per-charge": pair(hoursPerCharge),
      "empty-reading": pair(emptyReading),
      "reliefs-counted": pair(reliefsCounted),
    },
  };
}

const sum = (values: readonly number[]): number => values.reduce((all, value) => all + value, 0);

/** Of the time the unit had recorded, what is lost for good, by where its neighbours lie. */
function lostShare(side: readonly HealthDay[], holes: readonly SequenceHole[]): number | null {
  const within = (from: number, to: number): number =>
    sum(side.map(({ span }) => Math.max(0, Math.min(to, span.end) - Math.max(from, span.start)))) / 60_000;
  const lost = sum(
    holes.map(({ fate, after, before, endsAbout }) => {
      const end = before ?? endsAbout ?? null;
      return fate === "lost" && after !== null && end !== null ? within(after, end) : 0;
    }),
  );
  const kept = sum(side.map(({ link }) => link.minutes));
  return kept + lost === 0 ? null : lost / (kept + lost);
}

function withoutRelay(side: readonly HealthDay[]): number | null {
  const minutes = sum(side.map(({ link }) => link.minutes));
  return minutes === 0 ? null : sum(side.map(({ link }) => link.withoutRelay)) / minutes;
}

/** Unasked, in 24 hours on record: a day cut short by a loan counts for what it has. After a flat cell none is the
 *  firmware's. */
function restarts(side: readonly HealthDay[]): number | null {
  const minutes = sum(side.map(({ link }) => link.minutes));
  const { unwanted } = restartsOf(
    side.flatMap(({ boots }) => boots),
    side.flatMap(({ faults }) => faults),
    side.flatMap(lastCells),
  );
  return minutes === 0 ? null : unwanted / (minutes / minutesInDay);
}

const minutesInDay = 24 * 60;

/** Hours over charge, so that a deep run counts for more than a shallow one. */
function hoursPerCharge(side: readonly HealthDay[]): number | null {
  const { discharges } = chargeHistory(joinedRuns(side.flatMap(({ battery }) => battery.runs)));
  const lasting = chargeLasting(discharges);
  const charge = sum(lasting.map(({ from, to }) => from - to));
  return charge === 0
    ? null
    : sum(lasting.map(({ from, to, hoursPerCharge: lasts }) => lasts * (from - to))) / charge;
}

const span = 255;

/** Share of span that a cell reads with nobody on it. A wash or a chair moves it too: of such a side nothing is said. */
function emptyReading(side: readonly HealthDay[]): number | null {
  if (new Set(side.map(({ baselineSince }) => baselineSince)).size !== 1) return null;
  const seen = side.flatMap(({ grid, pictures }) =>
    pictures && grid && grid.empty.frames > 0 ? [grid] : [],
  );
  const readings = sum(seen.map(({ empty }) => empty.frames * empty.counts.length));
  return readings === 0 ? null : sum(seen.map(({ empty }) => sum([...empty.counts]))) / readings / span;
}

/** Full reliefs it counted in an hour that somebody sat. */
function reliefsCounted(side: readonly HealthDay[]): number | null {
  const seated = sum(side.map(({ battery }) => battery.use.loaded)) / 60;
  const full = sum(side.map(({ reliefs }) => reliefs.filter(({ outcome }) => outcome === "complete").length));
  return seated === 0 ? null : full / seated;
}
