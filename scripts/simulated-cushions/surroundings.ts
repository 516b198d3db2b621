import type { Doing } from "./day-plan.ts";
import { outageAt, type RadioSurroundings, weakestUsableSignal } from "./faults.ts";
import type { Random } from "./random.ts";
import { localMinute, type Moment } from "./wall-clock.ts";

/** Room, body warmth and radio around one cushion. */
export class Surroundings {
  readonly #radio: RadioSurroundings;
  readonly #zone: string;
  readonly #random: Random;
  #celsius = 21;
  #signal: number | null = null;

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
    const level = Math.round(this.#random.normal(mean, deviation));
    if (doing.out || outageAt(this.#radio.outages, at)?.what === "relay") return null;
    return level < weakestUsableSignal ? null : Math.max(-110, Math.min(-30, level));
  }
}
