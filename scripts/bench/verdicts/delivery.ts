import type { Draws } from "./chance.ts";
import type { Person } from "./person.ts";
import type { Troubles } from "./troubles.ts";
import { codeOf, paint, type UnitLife } from "./unit-life.ts";
import type { World } from "./world.ts";

export interface Hole extends Edges {
  readonly boot: number;
  readonly from: number;
  readonly to: number;
  readonly told: boolean;
}

/** Minutes: end of the last record before it and start of the first after, of the same boot, or the boot's start; null:
 *  nothing of the boot came there. */
interface Edges {
  readonly after: number | null;
  readonly before: number | null;
  readonly endsAbout: number | null;
}

export interface Delivery {
  /** Minute at which each minute's message arrived; -1: never, or nothing was recorded. */
  readonly arrival: Int32Array;
  /** Index in `gapTruths` of what the message ran into; 0: nothing. */
  readonly linkCause: Uint8Array;
  /** 0 fine, 1 weak, 2 no relay. */
  readonly reach: Uint8Array;
  readonly holes: readonly Hole[];
}

const perMessage = 10;

/** Sends ten minutes a message, keeps what can't be sent, and writes over the oldest when the store is full. */
export function deliver(
  draws: Draws,
  world: World,
  person: Person,
  troubles: Troubles,
  life: UnitLife,
): Delivery {
  const length = life.on.length;
  const link = paint(length, troubles.link);
  const drop = paint(length, troubles.drops);
  const arrival = new Int32Array(length).fill(-1);
  const capacity = Math.floor((draws.between(...world.storeHours) * 60) / perMessage);
  const linkCause = new Uint8Array(length);
  const missing: Missing[] = [];
  const tells = !draws.is(0.08);
  let queue: number[] = [];
  let overrun: number[] = [];
  const note = (starts: readonly number[], told: boolean): void => {
    for (const run of runsOf(life, starts)) missing.push({ ...run, told });
  };
  for (let start = 0; start + perMessage <= length; start += perMessage) {
    const recorded = anyOn(life, start);
    const now = start + perMessage;
    const cause = link[now - 1] ?? 0;
    if (recorded) {
      linkCause.fill(cause, start, now);
      if (drop[now - 1] !== 0 && cause === 0) {
        linkCause.fill(codeOf("home-link"), start, now);
        note([start], false);
        continue;
      }
      queue.push(start);
      if (queue.length > capacity) overrun.push(...queue.splice(0, queue.length - capacity));
    }
    if (cause !== 0 || !recorded) continue;
    for (const kept of queue)
      for (let at = kept; at < kept + perMessage; at += 1) if (life.on[at] === 1) arrival[at] = now;
    note(overrun, tells);
    queue = [];
    overrun = [];
  }
  return {
    arrival,
    linkCause,
    reach: reachOf(draws, person, troubles, length),
    holes: holesOf(life, arrival, missing),
  };
}

function anyOn(life: UnitLife, start: number): boolean {
  for (let at = start; at < start + perMessage; at += 1) if (life.on[at] === 1) return true;
  return false;
}

interface Missing {
  readonly boot: number;
  readonly start: number;
  readonly end: number;
  readonly told: boolean;
}

/** Messages without a break between them, of one boot. */
function runsOf(life: UnitLife, starts: readonly number[]) {
  const runs: { boot: number; start: number; end: number }[] = [];
  for (const start of starts) {
    const boot = bootOf(life, start);
    const last = runs.at(-1);
    if (last && last.end === start && last.boot === boot) last.end = start + perMessage;
    else runs.push({ boot, start, end: start + perMessage });
  }
  return runs;
}

/** Of the last minute on: a message belongs to the boot that sends it. */
function bootOf(life: UnitLife, start: number): number {
  for (let at = start + perMessage - 1; at >= start; at -= 1)
    if (life.on[at] === 1) return life.boot[at] ?? 0;
  return 0;
}

/** What the service can know of them: an edge by what came of the same boot, and nothing at all of a boot's last
 *  messages unless the unit said that they were lost. */
function holesOf(life: UnitLife, arrival: Int32Array, missing: readonly Missing[]): Hole[] {
  const came = (boot: number, at: number): boolean =>
    life.boot[at] === boot && life.on[at] === 1 && (arrival[at] ?? -1) >= 0;
  return missing.flatMap(({ boot, start, end, told }) => {
    const before = came(boot, end) ? end : null;
    if (before === null && !told) return [];
    const began = life.boots.find((one) => one.boot === boot)?.at ?? 0;
    const first = began >= start - perMessage && began < start + perMessage && before !== null;
    const after = came(boot, start - 1) ? start : first ? began : null;
    const endsAbout = before === null && after !== null ? end : null;
    return [{ boot, from: start / perMessage, to: end / perMessage - 1, told, after, before, endsAbout }];
  });
}

/** The relay as the unit hears it: fading on the way out, some homes poor on some days. */
function reachOf(draws: Draws, person: Person, troubles: Troubles, length: number): Uint8Array {
  const reach = new Uint8Array(length);
  for (const { from, to, cause } of troubles.link) {
    const heard = cause === "out-of-reach" ? false : cause === "home-link" ? draws.is(0.5) : true;
    if (!heard) reach.fill(2, Math.max(0, from), Math.min(length, to));
    const fades = cause === "out-of-reach" ? draws.whole(0, 14) : heard ? 0 : draws.whole(0, 25);
    reach.fill(draws.is(0.5) ? 2 : 1, Math.max(0, from - fades), Math.max(0, Math.min(from, length)));
  }
  if (person.signal < -80)
    for (let at = 0; at + 120 < length; at += 120) if (draws.is(0.3)) reach.fill(1, at, at + 120);
  return reach;
}
