import { type ReliefKind, reliefKinds } from "../../../server/domain/record/unit-record.ts";
import type { Draws } from "./chance.ts";
import type { World } from "./world.ts";

/** One simulated person with their home, as the model never sees them. */
export interface Person {
  readonly area: number;
  /** Minutes of the day. */
  readonly wakes: number;
  readonly toBed: number;
  readonly sitMedian: number;
  readonly breakMedian: number;
  /** Minutes later at weekends, and share of the seated time that is left. */
  readonly weekendLater: number;
  readonly weekendShare: number;
  /** Minutes between reliefs that nobody prompted. */
  readonly reliefEvery: number;
  readonly mix: Readonly<Record<ReliefKind, number>>;
  readonly followsPrompts: number;
  readonly holdMedian: number;
  readonly chargesNightly: number;
  readonly switchesOffAtNight: boolean;
  readonly load: number;
  readonly right: number;
  readonly front: number;
  readonly roomTemperature: number;
  readonly signal: number;
}

/** Seated hours a day about 9.2 (3.2 to 12.2), uninterrupted sits of about 97 min: study of full-time users in the
 *  brief's figures; the rest is invented. */
export function drawPerson(draws: Draws, world: World, areas: number): Person {
  const mix = { lift: 0, "lean-left": 0, "lean-right": 0, "lean-forward": 0, tilt: 0 };
  // Most have one or two ways; some do all of them.
  for (const kind of reliefKinds)
    if (kind !== "tilt") mix[kind] = draws.is(0.55) ? draws.between(0.2, 1) : 0.03;
  const wakes = draws.normal(7.6 * 60, 50);
  return {
    area: draws.whole(0, areas - 1),
    wakes,
    toBed: Math.max(wakes + 600, draws.normal(22 * 60, 50)),
    sitMedian: draws.between(45, 130),
    breakMedian: draws.between(12, 60),
    weekendLater: draws.between(0, 80),
    weekendShare: draws.between(0.7, 1.1),
    reliefEvery: draws.lengthy(40, 0.5),
    mix,
    followsPrompts: draws.is(0.6) ? draws.between(0.2, 0.8) : 0,
    holdMedian: draws.between(60, 110),
    chargesNightly: draws.between(...world.chargesNightly),
    switchesOffAtNight: draws.is(world.nightSwitchers),
    load: draws.between(45, 95),
    right: draws.normal(0, 9),
    front: draws.normal(-6, 6),
    roomTemperature: draws.between(17, 23),
    signal: draws.between(-85, -52),
  };
}

/** Which minutes they sit on the cushion when nothing keeps them away. */
export function sittings(draws: Draws, person: Person, days: number): Uint8Array {
  const seated = new Uint8Array(days * 1440);
  for (let day = 0; day < days; day += 1) {
    const weekend = day % 7 >= 5;
    const later = weekend ? person.weekendLater : 0;
    const from = day * 1440 + person.wakes + later + draws.normal(0, 25);
    const to = Math.min(day * 1440 + person.toBed + draws.normal(0, 30), day * 1440 + 1439);
    const share = (weekend ? person.weekendShare : 1) * draws.between(0.8, 1.15);
    for (let at = from + draws.between(10, 60); at < to; ) {
      const sit = Math.min(draws.lengthy(person.sitMedian * share, 0.6), 420);
      seated.fill(1, Math.max(0, Math.floor(at)), Math.max(0, Math.floor(Math.min(at + sit, to))));
      at += sit + draws.lengthy(person.breakMedian, 0.7);
    }
  }
  return seated;
}
