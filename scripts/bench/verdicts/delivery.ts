import type { Draws } from "./chance.ts";
import type { Person } from "./person.ts";
import type { Troubles } from "./troubles.ts";
import { codeOf, paint, type UnitLife } from "./unit-life.ts";
import type { World } from "./world.ts";

export interface Hole {
  readonly boot: number;
  readonly from: number;
  readonly to: number;
  /** Minutes: end of the last record before, start of the first after. */
  readonly after: number;
  readonly before: number;
  readonly told: boolean;
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
  const holes: Hole[] = [];
  const tells = !draws.is(0.08);
  let queue: number[] = [];
  let overrun: number[] = [];
  const note = (starts: readonly number[], told: boolean): void => {
    for (const run of runsOf(starts)) holes.push({ ...run, boot: life.boot[run.after] ?? 0, told });
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
  return { arrival, linkCause, reach: reachOf(draws, person, troubles, length), holes };
}

function anyOn(life: UnitLife, start: number): boolean {
  for (let at = start; at < start + perMessage; at += 1) if (life.on[at] === 1) return true;
  return false;
}

function runsOf(starts: readonly number[]) {
  const runs: { from: number; to: number; after: number; before: number }[] = [];
  for (const start of starts) {
    const last = runs.at(-1);
    if (last && last.before === start) {
      last.before = start + perMessage;
      last.to += 1;
    } else {
      const sequence = start / perMessage;
      runs.push({ from: sequence, to: sequence, after: start, before: start + perMessage });
    }
  }
  return runs;
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
