import { Draws, seedOf } from "./chance.ts";
import { type Delivery, deliver } from "./delivery.ts";
import { drawKnown, type Known } from "./known.ts";
import { drawPerson, type Person, sittings } from "./person.ts";
import { drawEpisodes, type SittingLife, sitThrough } from "./reliefs.ts";
import { drawTroubles, type Episode, type SharedTroubles } from "./troubles.ts";
import { liveUnit, type UnitLife } from "./unit-life.ts";
import type { World } from "./world.ts";

export interface SimulatedPerson {
  readonly person: Person;
  readonly life: UnitLife;
  readonly sitting: SittingLife;
  readonly delivery: Delivery;
  readonly known: Known;
  /** For the small noise of its record. */
  readonly noise: Draws;
}

/** The `index`-th person of a programme, the same every time. */
export function simulatePerson(
  world: World,
  programme: { readonly seed: number; readonly days: number; readonly areas: number },
  shared: SharedTroubles,
  index: number,
): SimulatedPerson {
  const { seed, days, areas } = programme;
  const draws = (part: number) => new Draws(seedOf(seedOf(seed, index + 1_000), part));
  const person = drawPerson(draws(0), world, areas);
  const seated = sittings(draws(2), person, days);
  const drawn = drawTroubles(draws(1), world, person, shared, days);
  const troubles = { ...drawn, off: whenOffTheSeat(draws(9), drawn.off, seated) };
  const life = liveUnit(draws(3), world, person, troubles, seated);
  const episodes = drawEpisodes(draws(4), world, days);
  const sitting = sitThrough(draws(5), world, person, episodes, life.seated);
  const delivery = deliver(draws(6), world, person, troubles, life);
  const known = drawKnown(draws(7), world, troubles, shared, sitting, days);
  return { person, life, sitting, delivery, known, noise: draws(8) };
}

/** Hands seldom switch off a unit that somebody sits on. */
const whenOffTheSeat = (draws: Draws, episodes: readonly Episode[], seated: Uint8Array): Episode[] =>
  episodes.map((episode) => {
    if (episode.cause !== "switched-off" || draws.is(0.15)) return episode;
    const free = seated.indexOf(0, Math.max(0, episode.from));
    return free < 0 ? episode : { ...episode, from: free, to: free + episode.to - episode.from };
  });
