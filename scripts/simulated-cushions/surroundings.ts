import type { Doing } from "./day-plan.ts";
import { outageAt, type RadioSurroundings, type RelayPersona, weakestUsableSignal } from "./faults.ts";
import type { Random } from "./random.ts";
import { localMinute, type Moment, second } from "./wall-clock.ts";

/** A slow random walk that forgets half of itself in about half an hour, with a spread of one. */
const keptEachMinute = 0.978;
const freshEachMinute = Math.sqrt(1 - keptEachMinute ** 2);

/** What the unit hears of its relay. */
export interface RelayHeard {
  readonly name: string;
  readonly uptimeSeconds: number;
  readonly link: "up" | "down" | "not-told";
  readonly signal: number;
}

/** Room, body warmth and radio around one cushion. */
export class Surroundings {
  readonly #radio: RadioSurroundings;
  readonly #zone: string;
  readonly #random: Random;
  #celsius = 21;
  #signal: number | null = null;
  #shadow = 0;

  constructor(radio: RadioSurroundings, zone: string, random: Random) {
    this.#radio = radio;
    this.#zone = zone;
    this.#random = random;
  }

  get celsius(): number {
    return this.#celsius;
  }

  get signal(): number | null {
    return this.#signal;
  }

  /** @param own the relay where the surroundings name none
   *  @returns null while none can be heard */
  relayAt(at: Moment, own: RelayPersona): RelayHeard | null {
    if (this.#signal === null) return null;
    const { name, tellsLink, startedAt } = this.#radio.relay ?? own;
    // A relay that was off starts anew at the end of it.
    const started = this.#radio.outages
      .filter(({ what, until }) => what === "relay" && until <= at)
      .reduce((latest, { until }) => Math.max(latest, until), startedAt);
    const down = outageAt(this.#radio.outages, at)?.what === "network";
    return {
      name,
      uptimeSeconds: Math.max(0, Math.floor((at - started) / second)),
      link: !tellsLink ? "not-told" : down ? "down" : "up",
      signal: this.#signal,
    };
  }

  /** Per cent at the grid: a body brings warmth and moisture together (our own choice). */
  get humidity(): number {
    return Math.min(100, Math.max(0, Math.round(44 + 1.7 * (this.#celsius - 20.5))));
  }

  /** Whether a message sent now would reach the programme. */
  mayDeliver(at: Moment): boolean {
    return this.#signal !== null && outageAt(this.#radio.outages, at) === null;
  }

  step(at: Moment, doing: Doing, charging: boolean): void {
    const { minuteOfDay } = localMinute(at, this.#zone);
    // Warmest in the afternoon, coolest before dawn.
    const room = 20.5 + 1.8 * Math.sin(((minuteOfDay - 600) / 1440) * 2 * Math.PI);
    const target = room + (doing.seated ? 10 : 0) + (charging ? 2 : 0);
    const minutesToFollow = doing.seated ? 22 : 35;
    this.#celsius += (target - this.#celsius) / minutesToFollow + this.#random.uniform(-0.04, 0.04);
    this.#signal = this.#signalAt(at, doing);
  }

  #signalAt(at: Moment, doing: Doing): number | null {
    const { mean, deviation } = this.#radio.signal;
    // Doors, bodies and where the chair stands change over minutes to hours; the rest flickers.
    this.#shadow = this.#shadow * keptEachMinute + this.#random.normal(0, freshEachMinute);
    const level = Math.round(mean + deviation * (this.#shadow + this.#random.normal(0, 0.3)));
    if (doing.out || outageAt(this.#radio.outages, at)?.what === "relay") return null;
    return level < weakestUsableSignal ? null : Math.max(-110, Math.min(-30, level));
  }
}
