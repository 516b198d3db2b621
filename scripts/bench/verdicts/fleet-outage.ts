import { loanId, unitSerial } from "../../../server/domain/ids.ts";
import {
  type Background,
  type FleetUnit,
  type Silence,
  sharedSilences,
} from "../../../server/domain/incidents/shared-silence.ts";
import { defaultSettings } from "../../../server/domain/settings.ts";
import { type Instant, instant, millisecondsIn } from "../../../server/domain/units.ts";
import { Draws, seedOf } from "./chance.ts";
import { atMinute } from "./record-of.ts";

export interface OutageFigures {
  /** Of outages of the whole fleet, and of one area, found within five minutes of the fifth unit known to be silent. */
  readonly fleetFound: number;
  readonly areaFound: number;
  readonly outages: number;
  readonly falseAYear: number;
  readonly fleetYears: number;
}

const units = 200;
const areas = 14;
const day = 1440;
/** Silences of a unit's own a day, most of them by day: outings. Invented. */
const ownADay = 0.65;
const byDay = 0.7;
/** A unit saves up to a quarter of an hour before it reports (firmware-protocol FP-6.18). */
const batch = 15;
const listedAfter = defaultSettings.shortestGapMinutes;

interface Own {
  readonly start: number;
  readonly end: number;
}

/** Outages put among the silences that units have of their own, looked at minute by minute as they become known; and
 *  years without any, in which nothing is to be found. */
export function fleetOutages(seed: number, size: { outages: number; fleetYears: number }): OutageFigures {
  const found = { fleet: 0, area: 0 };
  for (let index = 0; index < size.outages; index += 1) {
    const draws = new Draws(seedOf(seed, 5_000 + index));
    const silences = ownSilences(draws, 2);
    if (isFoundInTime(draws, silences, null)) found.fleet += 1;
    if (isFoundInTime(draws, silences, draws.whole(0, areas - 1))) found.area += 1;
  }
  let wrong = 0;
  for (let year = 0; year < size.fleetYears; year += 1) {
    const silences = ownSilences(new Draws(seedOf(seed, 9_000 + year)), 365);
    wrong += sharedSilences(fleetOf(silences), everyday).length;
  }
  return {
    fleetFound: found.fleet / size.outages,
    areaFound: found.area / size.outages,
    outages: size.outages,
    falseAYear: wrong / size.fleetYears,
    fleetYears: size.fleetYears,
  };
}

function ownSilences(draws: Draws, days: number): Own[][] {
  return Array.from({ length: units }, () =>
    Array.from({ length: draws.count(ownADay * days) }, (): Own => {
      const date = draws.whole(0, days - 1) * day;
      const start = date + (draws.is(byDay) ? draws.between(9 * 60, 17 * 60) : draws.between(0, day));
      return { start, end: start + 20 + draws.lengthy(120, 0.8) };
    }),
  );
}

/** Chance of a silence of its own within a window of 20 minutes: by the hour, each with its neighbours, as the service
 *  counts it over four weeks. */
const everyday: Background = (at) => {
  const hour = Math.floor((at - atMinute(0)) / millisecondsIn.hour);
  return (ownRate(hour - 1) + ownRate(hour) + ownRate(hour + 1)) / 3;
};

function ownRate(hour: number): number {
  const ofDay = ((hour % 24) + 24) % 24;
  const evenly = ((1 - byDay) * ownADay) / 72;
  return ofDay >= 9 && ofDay < 17 ? evenly + (byDay * ownADay) / 24 : evenly;
}

function isFoundInTime(draws: Draws, silences: readonly Own[][], area: number | null): boolean {
  const at = day + draws.between(0, day - 120);
  const stopped = new Map<number, number>();
  for (let unit = 0; unit < units; unit += 1) {
    const inScope = area === null || (unit % areas === area && draws.is(0.85));
    const isQuiet = (silences[unit] ?? []).some(({ start, end }) => start <= at && end > at);
    if (inScope && !isQuiet) stopped.set(unit, at - draws.between(0, batch));
  }
  const known = [...stopped.values()].map((start) => start + listedAfter).sort((a, b) => a - b);
  const fifth = known[4];
  if (fifth === undefined) return true;
  for (let now = Math.ceil(fifth); now <= fifth + 5; now += 1)
    if (sharedSilences(fleetOf(asKnown(silences, stopped, now)), everyday).some(isIt(stopped, area)))
      return true;
  return false;
}

const isIt =
  (stopped: ReadonlyMap<number, number>, area: number | null) =>
  (one: ReturnType<typeof sharedSilences>[number]): boolean =>
    one.scope.kind === (area === null ? "programme" : "area") &&
    one.units.filter(({ fleet }) => stopped.has(Number(fleet.loan))).length >= one.units.length / 2;

/** What can be known at `now`: a silence once it is long enough to be listed, its end once it is over. */
function asKnown(
  silences: readonly Own[][],
  stopped: ReadonlyMap<number, number>,
  now: number,
): { start: number; end: number | null }[][] {
  return silences.map((own, unit) => {
    const outage = stopped.get(unit);
    const all = outage === undefined ? own : [...own, { start: outage, end: Number.POSITIVE_INFINITY }];
    return all
      .filter(({ start }) => start <= now - listedAfter && start > now - 2 * day)
      .map(({ start, end }) => ({ start, end: end <= now ? end : null }));
  });
}

function fleetOf(silences: readonly (readonly { start: number; end: number | null }[])[]): FleetUnit[] {
  return silences.map((own, unit) => ({
    loan: loanId(String(unit)),
    unit: unitSerial(String(unit)),
    scopes: [
      { kind: "programme", name: "" },
      { kind: "area", name: String(unit % areas) },
    ],
    silences: own
      .map(({ start, end }): Silence => ({ start: moment(start), end: end === null ? null : moment(end) }))
      .sort((a, b) => a.start - b.start),
  }));
}

const moment = (minute: number): Instant => instant(Math.round(atMinute(0) + minute * millisecondsIn.minute));
