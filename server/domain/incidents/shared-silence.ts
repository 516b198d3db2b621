import type { LoanId, UnitSerial } from "../ids.ts";
import { type Instant, millisecondsIn } from "../units.ts";
import { togetherWithin } from "../verdicts/silent-together.ts";
import { logBinomialTail, scanRatio } from "./scan-statistic.ts";
import { type SilenceScope, scopeKinds } from "./silence-scopes.ts";

export interface Silence {
  readonly start: Instant;
  /** null: goes on. */
  readonly end: Instant | null;
}

/** A unit on loan with what it shares with others, and when it was silent. */
export interface FleetUnit {
  readonly loan: LoanId;
  readonly unit: UnitSerial;
  readonly scopes: readonly SilenceScope[];
  readonly silences: readonly Silence[];
}

export interface SharedSilence {
  readonly scope: SilenceScope;
  /** When the first of them fell silent. */
  readonly start: Instant;
  /** When four of five were back. null: not yet. */
  readonly end: Instant | null;
  /** Units of the scope that were recording until then. */
  readonly expected: number;
  readonly units: readonly { readonly fleet: FleetUnit; readonly silence: Silence }[];
}

/** Fewer say nothing of a shared cause, however unlikely. Assumption. */
export const fewestTogether = 4;
/** Of those silent together, the share that has to be back for it to be over. Assumption: the last ones have troubles
 *  of their own. */
export const backShare = 0.8;
/** Chance that a unit falls silent within `togetherWithin` of `at` by itself: it differs by the time of day. */
export type Background = (at: Instant) => number;
/** False findings a year that are allowed over every window and scope looked at, by the union bound. Windows overlap, so
 *  that the bound is kept well under the one a year that is meant. */
const falseAYear = 0.02;
const windowsAYear = (365 * 24 * millisecondsIn.hour) / togetherWithin;

interface Begun {
  readonly fleet: FleetUnit;
  readonly silence: Silence;
}
interface Candidate {
  readonly scope: SilenceScope;
  readonly ratio: number;
  readonly expected: number;
  readonly members: readonly Begun[];
}

/** Silences that began within the same minutes and are too many to be chance, each put down to what its units share
 *  that explains them best: the scope with the largest scan ratio.
 *  @returns oldest first; no silence is in two of them */
export function sharedSilences(fleet: readonly FleetUnit[], background: Background): SharedSilence[] {
  const groups = groupsOf(fleet);
  let begun = fleet
    .flatMap((unit) => unit.silences.map((silence): Begun => ({ fleet: unit, silence })))
    .sort((a, b) => a.silence.start - b.silence.start);
  const least = Math.log(falseAYear / (windowsAYear * Math.max(1, groups.size)));
  const found: SharedSilence[] = [];
  for (;;) {
    const best = bestCandidate(begun, groups, background, least);
    if (best === null) return found.sort((a, b) => a.start - b.start);
    found.push(told(best));
    const taken = new Set(best.members);
    begun = begun.filter((one) => !taken.has(one));
  }
}

function bestCandidate(
  begun: readonly Begun[],
  groups: ReadonlyMap<string, Group>,
  background: Background,
  least: number,
): Candidate | null {
  let best: Candidate | null = null;
  const within = new Map<string, Begun[]>();
  let first = 0;
  for (const one of begun) {
    // The window ends with this silence; what began too long before it leaves.
    for (
      let old = begun[first];
      old && one.silence.start - old.silence.start > togetherWithin;
      old = begun[++first]
    )
      for (const scope of old.fleet.scopes) within.get(keyOf(scope))?.shift();
    for (const scope of one.fleet.scopes) {
      const key = keyOf(scope);
      const members = within.get(key) ?? [];
      within.set(key, members);
      members.push(one);
      const group = groups.get(key);
      if (!group || members.length < fewestTogether) continue;
      if (scanRatio(members.length, members.length, background(one.silence.start)) <= (best?.ratio ?? 0))
        continue;
      const candidate = weighed(group, members, background, least);
      if (candidate && isBetter(candidate, best)) best = candidate;
    }
  }
  return best;
}

interface Group {
  readonly scope: SilenceScope;
  readonly units: readonly FleetUnit[];
}

function weighed(
  { scope, units }: Group,
  members: readonly Begun[],
  background: Background,
  least: number,
): Candidate | null {
  const start = members[0]?.silence.start;
  if (start === undefined) return null;
  const rate = background(start);
  const silent = new Set(members.map(({ fleet }) => fleet));
  const expected = units.filter((unit) => silent.has(unit) || !isSilentAt(unit, start)).length;
  if (logBinomialTail(silent.size, expected, rate) > least) return null;
  return { scope, ratio: scanRatio(silent.size, expected, rate), expected, members: [...members] };
}

/** Already silent then: it says nothing of this moment. */
const isSilentAt = ({ silences }: FleetUnit, at: Instant): boolean =>
  silences.some(({ start, end }) => start < at && (end === null || end > at));

const isBetter = (one: Candidate, best: Candidate | null): boolean =>
  best === null ||
  one.ratio > best.ratio + 1e-9 ||
  (Math.abs(one.ratio - best.ratio) <= 1e-9 &&
    scopeKinds.indexOf(one.scope.kind) < scopeKinds.indexOf(best.scope.kind));

function told({ scope, expected, members }: Candidate): SharedSilence {
  const units = [...new Map(members.map((one) => [one.fleet, one])).values()];
  // Members are in the order in which they fell silent.
  const [first] = units;
  if (!first) throw new Error("an incident without units");
  const end = endOf(units.map(({ silence }) => silence.end));
  return { scope, start: first.silence.start, end, expected, units };
}

/** When `backShare` of them were back; null: not yet. */
export function endOf(backs: readonly (Instant | null)[]): Instant | null {
  const back = backs.filter((at) => at !== null).sort((a, b) => a - b);
  return back[Math.ceil(backShare * backs.length) - 1] ?? null;
}

const keyOf = ({ kind, name }: SilenceScope): string => `${kind} ${name}`;

function groupsOf(fleet: readonly FleetUnit[]): ReadonlyMap<string, Group> {
  const groups = new Map<string, { scope: SilenceScope; units: FleetUnit[] }>();
  for (const unit of fleet) {
    for (const scope of unit.scopes) {
      const group = groups.get(keyOf(scope)) ?? { scope, units: [] };
      groups.set(keyOf(scope), group);
      group.units.push(unit);
    }
  }
  return groups;
}

/** A personal gap is held within an incident while that goes on, and for good where it ended with it. A unit that is
 *  still silent when the others are back is asked about by itself. */
export function isHeld(
  incident: Silence,
  silentFrom: Instant,
  gap: { readonly start: Instant; readonly end: Instant | null },
): boolean {
  if (Math.abs(gap.start - silentFrom) > togetherWithin) return false;
  return incident.end === null || (gap.end !== null && gap.end <= incident.end + millisecondsIn.hour);
}
