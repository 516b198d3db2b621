import { type ReliefKind, reliefKinds } from "../../../server/domain/record/unit-record.ts";
import type { ThinTruth } from "./causes-in-truth.ts";
import type { Draws } from "./chance.ts";
import type { Person } from "./person.ts";
import type { Note } from "./troubles.ts";
import type { World } from "./world.ts";

/** A relief that was done, and what the unit made of it. */
export interface DoneRelief {
  readonly at: number;
  readonly kind: ReliefKind;
  /** null: the unit saw nothing of it. */
  readonly seenAs: ReliefKind | null;
  readonly holdSeconds: number;
  readonly depth: number;
  readonly complete: boolean;
  readonly prompted: boolean;
}

export interface ThinEpisode {
  readonly cause: ThinTruth;
  readonly from: number;
  readonly to: number;
  readonly direction: "left" | "right" | "forward";
  readonly strength: number;
}

export interface SittingLife {
  readonly reliefs: readonly DoneRelief[];
  readonly episodes: readonly ThinEpisode[];
  /** Minute at which the second plan comes into force; null: never. */
  readonly planChangesAt: number | null;
  readonly notes: readonly Note[];
  /** Per day: load factor, turned, and sits that were another's. */
  readonly loadFactor: Float32Array;
  readonly turned: Uint8Array;
  readonly other: Uint8Array;
}

const day = 1440;
const directions = ["left", "right", "forward"] as const;
export const planHold = 60;
export const changedHold = 110;

export function drawEpisodes(draws: Draws, world: World, days: number): ThinEpisode[] {
  const scale = days / 90;
  const of = (mean: number, cause: ThinTruth, lasting: () => number): ThinEpisode[] =>
    Array.from({ length: draws.count(mean * scale) }, () => {
      const from = draws.between(6, days) * day;
      const direction = draws.one(...directions);
      return { cause, from, to: from + lasting() * day, direction, strength: draws.between(2.5, 6) };
    });
  return [
    ...of(world.fewerReliefs, "fewer-done", () => draws.lengthy(14, 0.7)),
    ...of(world.fadingPrompts, "prompts-fading", () => 90),
    ...of(world.deadLines, "line-dead", () => draws.lengthy(16, 0.6)),
    ...of(world.drifts, "drift", () => draws.lengthy(18, 0.6)),
    ...of(world.unseenMethods, "unseen-method", () => 60),
    ...of(world.movedInserts, "insert-moved", () => draws.lengthy(4, 0.6)),
    ...of(world.otherSeats, "other-seat", () => draws.between(0.05, 0.3)),
    ...of(world.changedPlans, "rules-changed", () => 90),
  ];
}

/** Sits through the days and leans, lifts, is prompted; the unit sees it or not. */
export function sitThrough(
  draws: Draws,
  world: World,
  person: Person,
  episodes: readonly ThinEpisode[],
  seated: Uint8Array,
): SittingLife {
  const length = seated.length;
  const reliefs: DoneRelief[] = [];
  const marked = marks(draws, episodes, length);
  let since = 0;
  let next = draws.lengthy(person.reliefEvery, 0.6);
  for (let at = 0; at < length; at += 1) {
    if (seated[at] !== 1) {
      since = 0;
      next = draws.lengthy(person.reliefEvery, 0.6) * slower(episodes, at);
      continue;
    }
    since += 1;
    const promptNow = since === 30 && person.followsPrompts > 0;
    const follows =
      promptNow && draws.is(person.followsPrompts * (active(episodes, "prompts-fading", at) ? 0.1 : 1));
    if (!follows && since < next) continue;
    if (marked.other[at] !== 1) reliefs.push(reliefAt(draws, person, episodes, at, follows));
    since = 0;
    next = draws.lengthy(person.reliefEvery, 0.6) * slower(episodes, at);
  }
  const changed = episodes.find(({ cause }) => cause === "rules-changed");
  return {
    reliefs,
    episodes,
    planChangesAt: changed ? Math.floor(changed.from) : null,
    notes: episodes
      .filter(({ cause }) => cause === "insert-moved" && draws.is(world.notesWritten * 0.7))
      .map(({ from }) => ({ kind: "washed-cover", from: from - 120, to: from })),
    ...marked,
  };
}

const active = (episodes: readonly ThinEpisode[], cause: ThinTruth, at: number): boolean =>
  episodes.some((one) => one.cause === cause && at >= one.from && at < one.to);

const slower = (episodes: readonly ThinEpisode[], at: number): number =>
  episodes.reduce(
    (by, one) => (one.cause === "fewer-done" && at >= one.from && at < one.to ? by * one.strength : by),
    1,
  );

function reliefAt(
  draws: Draws,
  person: Person,
  episodes: readonly ThinEpisode[],
  at: number,
  prompted: boolean,
): DoneRelief {
  const unseen = episodes.find((one) => one.cause === "unseen-method" && at >= one.from && at < one.to);
  const kind = unseen && draws.is(0.8) ? "tilt" : kindOf(draws, person, episodes, at);
  const holdSeconds = Math.round(draws.lengthy(person.holdMedian * 1.25, 0.35));
  const complete = !draws.is(0.07);
  return {
    at,
    kind,
    seenAs: seenAs(draws, episodes, at, kind),
    holdSeconds,
    depth: draws.between(0.4, 0.95),
    complete,
    prompted,
  };
}

function kindOf(draws: Draws, person: Person, episodes: readonly ThinEpisode[], at: number): ReliefKind {
  const sore = episodes.find(
    (one) => one.cause === "fewer-done" && one.strength > 4 && at >= one.from && at < one.to,
  );
  const weights = reliefKinds.map(
    (kind) => person.mix[kind] * (sore && kind === `lean-${sore.direction}` ? 0.05 : 1),
  );
  let pick = draws.share() * weights.reduce((sum, weight) => sum + weight, 0);
  for (const [index, weight] of weights.entries()) {
    pick -= weight;
    if (pick <= 0) return reliefKinds[index] ?? "lift";
  }
  return "lift";
}

function seenAs(
  draws: Draws,
  episodes: readonly ThinEpisode[],
  at: number,
  kind: ReliefKind,
): ReliefKind | null {
  if (kind === "tilt") return null;
  for (const one of episodes) {
    if (at < one.from || at >= one.to) continue;
    if (one.cause === "line-dead" && kind === `lean-${one.direction}` && draws.is(0.93)) return null;
    if (one.cause === "drift" && draws.is(0.65)) return null;
    if (one.cause === "insert-moved") {
      if (draws.is(0.5)) return null;
      if (kind === "lean-left") return "lean-right";
      if (kind === "lean-right") return "lean-left";
    }
  }
  return draws.is(0.04) ? null : kind;
}

function marks(draws: Draws, episodes: readonly ThinEpisode[], length: number) {
  const loadFactor = new Float32Array(length).fill(1);
  const turned = new Uint8Array(length);
  const other = new Uint8Array(length);
  for (const one of episodes) {
    const from = Math.floor(one.from);
    const to = Math.min(length, Math.floor(one.to));
    if (one.cause === "drift")
      loadFactor.fill(draws.one(draws.between(0.65, 0.9), draws.between(1.1, 1.4)), from, to);
    if (one.cause === "insert-moved" && draws.is(0.6)) turned.fill(1, from, to);
    if (one.cause === "other-seat") {
      other.fill(1, from, to);
      loadFactor.fill(draws.one(draws.between(0.3, 0.75), draws.between(1.2, 1.6)), from, to);
    }
  }
  return { loadFactor, turned, other };
}
