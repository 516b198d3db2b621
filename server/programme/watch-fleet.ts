import { newId } from "../chance.ts";
import { incidentId, type LoanId } from "../domain/ids.ts";
import {
  type Background,
  endOf,
  type FleetUnit,
  type SharedSilence,
  type Silence,
  sharedSilences,
} from "../domain/incidents/shared-silence.ts";
import { type SilenceScope, scopeKinds } from "../domain/incidents/silence-scopes.ts";
import { localDayOf } from "../domain/time/local-day.ts";
import { type Instant, instant, millisecondsIn } from "../domain/units.ts";
import { togetherWithin } from "../domain/verdicts/silent-together.ts";
import { spokenDay } from "../domain/verdicts/spoken.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import {
  certificateEnds,
  gapsBegunSince,
  type IncidentRow,
  type IncidentUnitRow,
  incidentsSince,
  loansToWatch,
  saveIncident,
  saveIncidentUnit,
  unitsOfIncidents,
} from "../store/incidents.ts";
import { loanById } from "../store/loans.ts";
import { settingsInForce } from "../store/settings.ts";
import { heardAgain } from "./heard-again.ts";
import { judgeAgain } from "./judge-again.ts";

/** How far back silences are looked at together; a server that was down itself looks back when it is up again. */
const lookBack = 48 * millisecondsIn.hour;
/** Over how long the everyday rate of silences is counted. */
const backgroundDays = 28;

/** Finds silences that many units share, over the whole fleet, and keeps each as one incident: new units join it, and
 *  it ends when four of five are back. The gaps inside are then judged again. Doing it twice changes nothing. */
export async function watchFleet(services: Services): Promise<void> {
  const now = services.clock.now();
  const since = instant(now - lookBack);
  const { fleet, last } = await fleetSince(services, since, now);
  if (fleet.length === 0) return;
  const found = sharedSilences(fleet, everydayRate(services, fleet.length, now));
  const before = heldSince(services, since);
  const begun = found.flatMap((one) => joined(services, one, before, now));
  save(services, begun, now);
  const held = heldSince(services, since);
  const ending = held.incidents
    .filter(({ endsAt }) => endsAt === null)
    .map((one) => closed(services, one, held.units, last, now));
  const over = (await Promise.all(ending)).flat();
  save(services, over, now);
  for (const { incident, units } of [...begun, ...over])
    if (incident.endsAt !== null) await judgeInside(services, incident, units);
}

interface Held {
  readonly incidents: readonly IncidentRow[];
  readonly units: readonly IncidentUnitRow[];
}

function heldSince({ db }: Services, since: Instant): Held {
  const incidents = incidentsSince(db, since);
  return {
    incidents,
    units: unitsOfIncidents(
      db,
      incidents.map(({ id }) => id),
    ),
  };
}

function save(services: Services, changes: readonly Change[], at: Instant): void {
  if (changes.length === 0) return;
  services.db.transaction((tx) => {
    for (const { incident, units, audit } of changes) {
      saveIncident(tx, incident);
      for (const unit of units) saveIncidentUnit(tx, unit);
      if (audit === null) continue;
      const detail = { scope: incident.scope, units: units.length, startsAt: incident.startsAt };
      appendAudit(tx, {
        at,
        actor: { kind: "system" },
        action: audit,
        subject: `incident:${incident.id}`,
        detail,
      });
    }
  });
  services.live.changed("clinic", "stores", "bench");
  services.live.changed(...changes.map(({ incident }) => `incident:${incident.id}` as const));
}

interface Change {
  readonly incident: IncidentRow;
  readonly units: readonly IncidentUnitRow[];
  readonly audit: "find-incident" | "end-incident" | null;
}

async function fleetSince(services: Services, since: Instant, now: Instant) {
  const { shortestGapMinutes } = settingsInForce(services.db);
  const loans = loansToWatch(services.db, since);
  const open = loans.filter(({ endedAt }) => endedAt === null);
  const last = await services.telemetry.lastRecordedAt(open.map(({ unit }) => unit));
  const gaps = new Map<LoanId, Silence[]>();
  for (const { loan, start, end } of gapsBegunSince(services.db, since))
    gaps.set(loan, [...(gaps.get(loan) ?? []), { start, end }]);
  const ends = certificateEnds(services.db);
  // Silent since before, or never heard: it says nothing of a moment since then.
  const recording = loans.filter(({ unit, endedAt }) => endedAt !== null || (last.get(unit) ?? 0) >= since);
  const fleet = recording.map(({ loan, unit, startedAt, endedAt, area, lot, firmware, relay }): FleetUnit => {
    // What has not recorded yet can't have fallen silent.
    const listed = (gaps.get(loan) ?? []).filter(({ start }) => start > (startedAt ?? since));
    const recorded = endedAt === null ? last.get(unit) : undefined;
    const isQuiet =
      recorded !== undefined &&
      recorded >= since &&
      recorded > (startedAt ?? since) &&
      now - recorded >= shortestGapMinutes * millisecondsIn.minute &&
      !listed.some(({ end }) => end === null);
    const expired = ends.get(loan);
    const scopes: SilenceScope[] = [
      { kind: "programme", name: "" },
      ...(area === "" ? [] : [{ kind: "area", name: area } as const]),
      { kind: "lot", name: lot },
      ...(relay === null ? [] : [{ kind: "relay", name: relay } as const]),
      ...(firmware === null ? [] : [{ kind: "firmware", name: firmware } as const]),
      ...(expired !== undefined && expired <= now
        ? [{ kind: "certificates", name: spokenDay(localDayOf(expired, services.zone)) } as const]
        : []),
    ];
    return {
      loan,
      unit,
      scopes: scopes.sort((a, b) => scopeKinds.indexOf(a.kind) - scopeKinds.indexOf(b.kind)),
      silences: isQuiet ? [...listed, { start: recorded, end: null }] : listed,
    };
  });
  return { fleet, last };
}

/** How often a unit falls silent by itself at each time of day, counted over the last weeks an hour either side; one is
 *  added, so that a young programme is not taken for a silent one. Incidents are not everyday. */
function everydayRate({ db }: Services, units: number, now: Instant): Background {
  const since = instant(now - backgroundDays * day);
  const known = incidentsSince(db, since);
  const begun = new Array<number>(24).fill(0);
  for (const { start } of gapsBegunSince(db, since)) {
    if (known.some(({ startsAt }) => Math.abs(startsAt - start) <= 2 * togetherWithin)) continue;
    for (const near of [-1, 0, 1]) {
      const hour = (hourOf(start) + near + 24) % 24;
      begun[hour] = (begun[hour] ?? 0) + 1;
    }
  }
  const windows = (units * backgroundDays * 3 * millisecondsIn.hour) / togetherWithin;
  return (at) => Math.max(0.002, Math.min(0.3, ((begun[hourOf(at)] ?? 0) + 1) / (windows + 100)));
}

const day = 24 * millisecondsIn.hour;
const hourOf = (at: Instant): number => Math.floor((at % day) / millisecondsIn.hour);

function joined(
  services: Services,
  found: SharedSilence,
  { incidents, units: members }: Held,
  now: Instant,
): Change[] {
  const before = incidents.find(
    ({ id, startsAt }) =>
      Math.abs(startsAt - found.start) <= togetherWithin &&
      members.some(
        (one) => one.incidentId === id && found.units.some(({ fleet }) => fleet.loan === one.loanId),
      ),
  );
  const id = before?.id ?? incidentId(newId(services.chance, "incident"));
  const held = new Set(members.filter(({ incidentId: of }) => of === id).map(({ loanId }) => loanId));
  const fresh = found.units.filter(({ fleet }) => !held.has(fleet.loan));
  if (before && fresh.length === 0) return [];
  const units = fresh.map(
    ({ fleet, silence }): IncidentUnitRow => ({
      incidentId: id,
      loanId: fleet.loan,
      unitSerial: fleet.unit,
      silentFrom: silence.start,
      backAt: silence.end,
    }),
  );
  const backs = [...members.filter((one) => one.incidentId === id), ...units].map(({ backAt }) => backAt);
  const incident: IncidentRow = {
    id,
    startsAt: before ? instant(Math.min(before.startsAt, found.start)) : found.start,
    endsAt: before?.endsAt ?? endOf(backs),
    foundAt: before?.foundAt ?? now,
    scope: found.scope.kind,
    scopeName: found.scope.name,
    expected: found.expected,
  };
  return [{ incident, units, audit: before ? null : "find-incident" }];
}

/** Units heard from since; the incident ends with enough of them. */
async function closed(
  services: Services,
  incident: IncidentRow,
  members: readonly IncidentUnitRow[],
  last: ReadonlyMap<IncidentUnitRow["unitSerial"], Instant>,
  now: Instant,
): Promise<Change[]> {
  const own = members.filter(({ incidentId: of }) => of === incident.id);
  const units = await Promise.all(
    own.map(async (unit) => {
      const recorded = last.get(unit.unitSerial);
      // Not on loan any more, or recording later than any unit of the incident was.
      const isBack = recorded === undefined || recorded > unit.silentFrom + 2 * togetherWithin;
      if (unit.backAt !== null || !isBack) return unit;
      return { ...unit, backAt: recorded === undefined ? now : await heardAgain(services, unit, recorded) };
    }),
  );
  const news = units.filter((unit, index) => unit !== own[index]);
  const endsAt = endOf(units.map(({ backAt }) => backAt));
  if (news.length === 0 && endsAt === null) return [];
  return [
    {
      incident: { ...incident, endsAt },
      units: endsAt === null ? news : units,
      audit: endsAt === null ? null : "end-incident",
    },
  ];
}

/** What many had in common is known now: each gap inside is judged again. */
async function judgeInside(
  services: Services,
  { startsAt }: IncidentRow,
  units: readonly IncidentUnitRow[],
): Promise<void> {
  const span = { start: instant(startsAt - togetherWithin), end: services.clock.now() };
  for (const { loanId } of units) {
    const lent = loanById(services.db, loanId);
    if (lent) await judgeAgain(services, lent, span, "gap");
  }
}
