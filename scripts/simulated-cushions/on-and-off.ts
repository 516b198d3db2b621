import type { Battery } from "./battery.ts";
import type { Fault } from "./faults.ts";
import type { PowerWatch } from "./power-watch.ts";
import type { Random } from "./random.ts";
import type { Sitter } from "./sitter.ts";
import { hour, type Moment, minute } from "./wall-clock.ts";

export type Stop = "switched-off" | "flat" | "watchdog";

/** Why a unit stops and what starts it again: its button, its cell, its watchdog. */
export class OnAndOff {
  readonly #battery: Battery;
  readonly #power: PowerWatch;
  readonly #sitter: Sitter;
  readonly #faults: readonly Fault[];
  readonly #random: Random;

  constructor(
    parts: { readonly battery: Battery; readonly power: PowerWatch; readonly sitter: Sitter },
    faults: readonly Fault[],
    random: Random,
  ) {
    this.#battery = parts.battery;
    this.#power = parts.power;
    this.#sitter = parts.sitter;
    this.#faults = faults;
    this.#random = random;
  }

  /** What ends the minute that began at `at`. */
  stopAt(at: Moment): Stop | null {
    const absence = this.#sitter.absenceAt(at);
    const switchedOff =
      absence?.switchedOffAfterMinutes != null &&
      at >= absence.from + absence.switchedOffAfterMinutes * minute;
    if (switchedOff) return "switched-off";
    if (this.#battery.isCutOffAt(this.#power.cutOffFrom(at))) return "flat";
    return this.#watchdogBites(at) ? "watchdog" : null;
  }

  /** Whether one that stopped for `why` can start at `at`. */
  mayStart(why: "flat" | "switched-off", at: Moment): boolean {
    if (why === "switched-off") return this.#sitter.absenceAt(at) === null;
    return this.#sitter.doing.chargerIn && this.#battery.canStartAfter(this.#power.cutOffFrom(at));
  }

  #watchdogBites(at: Moment): boolean {
    const loop = this.#faults.find((fault) => fault.kind === "reset-loop" && fault.from <= at);
    return loop?.kind === "reset-loop" && this.#random.chance(minute / (loop.meanHoursBetween * hour));
  }
}
