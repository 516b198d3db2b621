import { identityTroubles, lookedAt } from "../../../server/domain/identity-trouble/identity-trouble.ts";
import { type SitSummary, sitSummaries } from "../../../server/domain/identity-trouble/sit-summaries.ts";
import { type Instant, instant, millisecondsIn } from "../../../server/domain/units.ts";
import { Draws, seedOf } from "./chance.ts";
import { epoch, recordOf } from "./record-of.ts";
import { simulatePerson } from "./simulate-person.ts";
import { sharedTroubles } from "./troubles.ts";
import type { World } from "./world.ts";

export const plantedKinds = ["swapped", "two-people", "object", "other-seat"] as const;
export type PlantedKind = (typeof plantedKinds)[number];

export interface IdentityFigures {
  readonly unitYears: number;
  /** Questions raised about people who sat alone on their own cushion in their own chair. */
  readonly falselyAsked: number;
  /** Of those planted, asked about within a week, by whatever kind; and by their own kind. */
  readonly found: Readonly<Record<PlantedKind, { readonly planted: number; asked: number; named: number }>>;
}

const day = 24 * millisecondsIn.hour;
const plantedOn = 60;

/** Whose record it is, asked daily as the service asks it. Every person sits a little otherwise each day, in a coat or
 *  without, and slowly gains or loses; then the same people once more with a trouble planted on the 60th day. A part of the
 *  grid that is wrong is left out: there the service asks nobody (withdraw-identity). All invented. */
export function identityFigures(world: World, seed: number, people: number): IdentityFigures {
  const days = 90;
  const shared = sharedTroubles(new Draws(seedOf(seed, 1)), world, days, 4);
  const quiet = { ...world, otherSeats: 0, drifts: 0, deadLines: 0, movedInserts: 0 };
  const none = () => ({ planted: 0, asked: 0, named: 0 });
  const found = { swapped: none(), "two-people": none(), object: none(), "other-seat": none() };
  let falselyAsked = 0;
  for (let index = 0; index < people; index += 1) {
    const one = simulatePerson(quiet, { seed, days, areas: 4 }, shared, index);
    const record = recordOf(one.noise, one.person, one.life, one.sitting, one.delivery);
    const draws = new Draws(seedOf(seed, 70_000 + index));
    const sits = asDaysGo(draws, sitSummaries(record.minutes));
    falselyAsked += asked(sits, lookedAt.lately / day + 14, days).length;
    const kind = plantedKinds[index % plantedKinds.length] ?? "swapped";
    const kinds = asked(planted(draws, kind, sits), plantedOn, plantedOn + 7);
    found[kind].planted += 1;
    if (kinds.length > 0) found[kind].asked += 1;
    if (kinds.includes(kind)) found[kind].named += 1;
  }
  return { unitYears: (people * days) / 365, falselyAsked, found };
}

/** Kinds asked about, each once: an open question is not asked again. */
function asked(sits: readonly SitSummary[], from: number, to: number): string[] {
  const kinds = new Set<string>();
  for (let today = from; today <= to; today += 1) {
    const now = instant(epoch + today * day);
    const known = sits.filter(({ start }) => start < now && start >= now - lookedAt.lately - lookedAt.before);
    for (const { kind } of identityTroubles(known, instant(now - lookedAt.lately))) kinds.add(kind);
  }
  return [...kinds];
}

const dayOf = (at: Instant): number => Math.floor((at - epoch) / day);

function asDaysGo(draws: Draws, sits: readonly SitSummary[]): SitSummary[] {
  const trend = draws.normal(0, 0.03);
  const dressed = Array.from({ length: 91 }, () => (draws.is(0.2) ? draws.between(0, 0.035) : 0));
  const posture = Array.from({ length: 91 }, () => [draws.normal(0, 2), draws.normal(0, 2.5)] as const);
  return sits.map((sit) => {
    const today = dayOf(sit.start);
    const [right, front] = posture[today] ?? [0, 0];
    const load = sit.load * (1 + (trend * today) / 90 + (dressed[today] ?? 0) + draws.normal(0, 0.01));
    return { ...sit, load, right: sit.right + right, front: sit.front + front };
  });
}

function planted(draws: Draws, kind: PlantedKind, sits: readonly SitSummary[]): SitSummary[] {
  const other = draws.is(0.5) ? draws.between(1.18, 1.6) : draws.between(0.55, 0.82);
  const seat = { right: draws.normal(0, 4), front: draws.between(18, 30) * (draws.is(0.5) ? 1 : -1) };
  const bag = draws.between(3, 12);
  const otherwise = (sit: SitSummary): SitSummary => {
    switch (kind) {
      case "swapped":
        return { ...sit, load: sit.load * other };
      case "two-people":
        return draws.is(0.35) ? { ...sit, load: sit.load * other } : sit;
      case "object":
        return draws.is(0.25) ? { ...sit, load: bag, stir: 0.02 } : sit;
      case "other-seat":
        return draws.is(0.35)
          ? { ...sit, right: sit.right + seat.right, front: sit.front + seat.front }
          : sit;
    }
  };
  return sits.map((sit) => (dayOf(sit.start) < plantedOn ? sit : otherwise(sit)));
}
