import { daysBefore, type HealthDay, healthDay } from "../domain/condition/health-day.ts";
import { recordWithin } from "../domain/condition/record-within.ts";
import { daysJudged, healthOfDays, judgedOver, type UnitHealth } from "../domain/condition/unit-health.ts";
import type { UnitSerial } from "../domain/ids.ts";
import type { ZoneName } from "../domain/time/local-day.ts";
import { type Instant, instant, millisecondsIn, type Span } from "../domain/units.ts";
import type { Services } from "../services.ts";
import type { Database } from "../store/database.ts";
import {
  dropHealthDaysBefore,
  forgetHealthDays,
  type KeptDayRow,
  type KeptHealthDay,
  keepHealthDay,
  keptHealthDays,
} from "../store/health-days.ts";
import { type Assessed, assessed, localDaysOf } from "./assessed-span.ts";

/** Four weeks that are judged, and a day cut by each end. */
const judgedRows = daysJudged + 2;
/** And those that the first of them is told by, for when late messages make it worthless. */
const kept = judgedRows + daysBefore;
const readAtOnce = 7;
/** A day with a clock change has an hour more. */
const dayAndNight = 25 * millisecondsIn.hour;

interface Days {
  readonly days: readonly HealthDay[];
  /** Closed days among them that were worked out just now. */
  readonly news: readonly KeptHealthDay[];
  /** Days that were kept and no longer hold are in the way. */
  readonly someStale: boolean;
}

export interface HealthNow {
  readonly health: UnitHealth;
  /** Keeps the closed days that were worked out for it, within the caller's transaction. */
  readonly keepDays: (tx: Database) => void;
}

/** A unit's health as its record now stands. Days that are over are read once and kept; only what is new is read, and
 *  what late messages changed is read again. */
export async function healthNow(services: Services, unit: UnitSerial): Promise<HealthNow> {
  const now = services.clock.now();
  const what = assessed(services, unit, now);
  const told = await daysOf(services, unit, what, now);
  const over = judgedOver(what.over, now);
  const judged = told.days.filter(({ span }) => span.end > over.start);
  return {
    health: healthOfDays(judged, await services.telemetry.holes(unit, over), over, now, what),
    keepDays: (tx) => {
      if (what.loan !== null) save(tx, unit, told);
    },
  };
}

async function daysOf(services: Services, unit: UnitSerial, what: Assessed, now: Instant): Promise<Days> {
  const { db, telemetry, zone } = services;
  const changed = await telemetry.unreviewedOf(unit);
  const rows = what.loan === null || changed?.earliest === null ? [] : keptHealthDays(db, unit, kept);
  const believed = stillTrue(rows, what, zone, changed?.earliest ?? null).slice(-judgedRows);
  const days = believed.map(({ told }) => told());
  const from = days.at(-1)?.span.end ?? what.over.start;
  const news: KeptHealthDay[] = [];
  const missing = localDaysOf({ start: from, end: what.over.end }, zone);
  for (let next = 0; next < missing.length; next += readAtOnce) {
    const some = missing.slice(next, next + readAtOnce);
    const [first, last] = [some[0], some.at(-1)];
    if (!first || !last) break;
    const record = await telemetry.read(unit, { start: first.start, end: last.end });
    for (const span of some) {
      const ofDay = recordWithin(record, span);
      if (ofDay === null) continue;
      const told = healthDay(ofDay, span, days.slice(-daysBefore), what.changes);
      days.push(told);
      if (span.end <= now) news.push({ basis: basisOf(what, zone, span), told });
    }
  }
  return { days, news, someStale: believed.at(-1) !== rows.at(-1) };
}

/** What a day was told under. A change written down afterwards makes it, and all after it, worthless. */
const basisOf = ({ loan, changes }: Assessed, zone: ZoneName, { end }: Span): string =>
  JSON.stringify([loan, zone, changes.filter(({ at }) => at < end)]);

function stillTrue(
  rows: readonly KeptDayRow[],
  what: Assessed,
  zone: ZoneName,
  changedFrom: Instant | null,
): readonly KeptDayRow[] {
  const stale = rows.findIndex(
    ({ basis, span }) =>
      basis !== basisOf(what, zone, span) || (changedFrom !== null && span.end > changedFrom),
  );
  return stale === -1 ? rows : rows.slice(0, stale);
}

function save(tx: Database, unit: UnitSerial, { days, news, someStale }: Days): void {
  const [first] = news;
  if (first === undefined) return;
  if (someStale) forgetHealthDays(tx, unit, instant(first.told.span.end - 1));
  for (const each of news) keepHealthDay(tx, unit, each);
  const oldest = days.at(-judgedRows);
  if (oldest) dropHealthDaysBefore(tx, unit, instant(oldest.span.start - daysBefore * dayAndNight));
}
