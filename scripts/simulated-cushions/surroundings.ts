import type { Doing } from "./day-plan.ts";
import { outageAt, type RadioSurroundings, weakestUsableSignal } from "./faults.ts";
import type { Random } from "./random.ts";
import { localMinute, type Moment } from "./wall-clock.ts";

/** A slow random walk that forgets half of itself in about half an hour, with a spread of one. */
const keptEachMinute = 0.978;
const freshEachMinute = Math.sqrt(1 - keptEachMinute ** 2);

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
