import { daysBefore, type HealthDay, healthDay } from "../domain/condition/health-day.ts";
import { recordWithin } from "../domain/condition/record-within.ts";
import { daysJudged, healthOfDays, judgedOver, type UnitHealth } from "../domain/condition/unit-health.ts";
import type { UnitSerial } from "../domain/ids.ts";
import type { ZoneName } from "../domain/time/local-day.ts";
import { type Instant, instant, type Span } from "../domain/units.ts";
import type { Services } from "../services.ts";
import {
  dropHealthDaysBefore,
  forgetHealthDays,
  type KeptHealthDay,
  keepHealthDay,
  keptHealthDays,
} from "../store/health-days.ts";
import { type Assessed, assessed, localDaysOf } from "./assessed-span.ts";

/** Four weeks that are judged, a day cut by each end, and those a day is told by. */
const kept = daysJudged + 2 + daysBefore;
const readAtOnce = 7;

interface Days {
  readonly days: readonly HealthDay[];
  /** Closed days among them that were worked out just now. */
  readonly news: readonly KeptHealthDay[];
}

/** A unit's health as its record now stands. Days that are over are read once and kept; only what is new is read, and
 *  what late messages changed is read again. */
export async function healthNow(
  services: Services,
  unit: UnitSerial,
  { keep }: { readonly keep: boolean },
): Promise<UnitHealth> {
  const now = services.clock.now();
  const what = assessed(services, unit, now);
  const { days, news } = await daysOf(services, unit, what, now);
  if (keep && what.loan !== null) save(services, unit, days, news);
  const over = judgedOver(what.over, now);
  const judged = days.filter(({ span }) => span.end > over.start);
  return healthOfDays(judged, await services.telemetry.holes(unit, over), over, now, what.masked);
}

async function daysOf(services: Services, unit: UnitSerial, what: Assessed, now: Instant): Promise<Days> {
  const { db, telemetry, zone } = services;
  const changed = await telemetry.unreviewedOf(unit);
  const believed =
    what.loan === null || changed?.earliest === null
      ? []
      : stillTrue(keptHealthDays(db, unit, kept), what, zone, changed?.earliest ?? null);
  const days = believed.map(({ told }) => told);
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
  return { days, news };
}

/** What a day was told under. A change written down afterwards makes it, and all after it, worthless. */
const basisOf = ({ loan, changes }: Assessed, zone: ZoneName, { end }: Span): string =>
  JSON.stringify([loan, zone, changes.filter(({ at }) => at < end)]);

function stillTrue(
  rows: readonly KeptHealthDay[],
  what: Assessed,
  zone: ZoneName,
  changedFrom: Instant | null,
): readonly KeptHealthDay[] {
  const stale = rows.findIndex(
    ({ basis, told: { span } }) =>
      basis !== basisOf(what, zone, span) || (changedFrom !== null && span.end > changedFrom),
  );
  return stale === -1 ? rows : rows.slice(0, stale);
}

function save(
  services: Services,
  unit: UnitSerial,
  days: readonly HealthDay[],
  news: readonly KeptHealthDay[],
): void {
  const [first] = news;
  if (first === undefined) return;
  services.db.transaction(
    (tx) => {
      forgetHealthDays(tx, unit, instant(first.told.span.end - 1));
      for (const each of news) keepHealthDay(tx, unit, each);
      const oldest = days.at(-kept);
      if (oldest) dropHealthDaysBefore(tx, unit, oldest.span.start);
    },
    { behavior: "immediate" },
  );
}
