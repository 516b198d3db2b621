import { type Instant, instant } from "./domain/units.ts";

/** The only way to learn the time. */
export interface Clock {
  now(): Instant;
}

export const systemClock: Clock = { now: () => instant(Date.now()) };
