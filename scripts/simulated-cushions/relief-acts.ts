import type { ReliefKind } from "../../firmware-protocol/src/messages.ts";
import { type Person, reliefHabitAt } from "./person.ts";
import { pickWeighted, type Random } from "./random.ts";
import type { TruthEvent } from "./truth.ts";
import { type Moment, minute } from "./wall-clock.ts";

/** What a body really does: the truth, whatever a cushion makes of it. */
export interface ReliefAct {
  readonly kind: ReliefKind;
  readonly startsAt: Moment;
  readonly holdSeconds: number;
  /** Share of the relieved side's load that leaves it. */
  readonly depth: number;
  /** A small weight shift rather than a relief. */
  readonly shift: boolean;
}

/** @param seen whether the firmware made anything of it; null: the unit was off */
export const truthOf = (
  { kind, holdSeconds, depth, shift }: ReliefAct,
  seen: boolean | null,
): TruthEvent => ({
  what: shift ? "weight-shift" : "relief",
  kind,
  holdSeconds,
  depthPercent: Math.round(depth * 100),
  seen,
});

/** Reliefs by habit and by prompt. */
export class ReliefActs {
  readonly #person: Person;
  readonly #random: Random;
  #answerAt: Moment | null = null;
  #busyUntil: Moment = 0;

  constructor(person: Person, random: Random) {
    this.#person = person;
    this.#random = random;
  }

  /** The unit buzzed. */
  prompted(at: Moment): void {
    const habit = reliefHabitAt(this.#person, at);
    if (this.#random.chance(habit.answersPrompt)) {
      this.#answerAt = at + Math.round(this.#random.uniform(0.4, 3.5)) * minute;
    }
  }

  /** @returns what is done in the seated minute that starts at `at`, if anything. */
  within(at: Moment): ReliefAct | null {
    const habit = reliefHabitAt(this.#person, at);
    const answers = this.#answerAt !== null && this.#answerAt <= at;
    const full = this.#random.chance(habit.fullPerSeatedHour / 60);
    const shift = this.#random.chance(habit.shiftsPerSeatedHour / 60);
    if (at < this.#busyUntil) return null;
    if (answers) this.#answerAt = null;
    if (answers || full) return this.#act(at, false);
    return shift ? this.#act(at, true) : null;
  }

  leftTheSeat(): void {
    this.#answerAt = null;
  }

  #act(at: Moment, shift: boolean): ReliefAct | null {
    const habit = reliefHabitAt(this.#person, at);
    const kind = pickWeighted(this.#random, habit.kinds);
    if (kind === null) return null;
    const hold = this.#random.normal(habit.holdSeconds.mean, habit.holdSeconds.deviation);
    const depth = this.#random.normal(habit.depth.mean, habit.depth.deviation);
    const full = Math.min(0.97, Math.max(0.2, depth));
    const startsAt = at + Math.floor(this.#random.uniform(2, 25)) * 1_000;
    const holdSeconds = Math.round(shift ? this.#random.uniform(3, 15) : Math.max(5, hold));
    this.#busyUntil = startsAt + holdSeconds * 1_000;
    return {
      kind,
      startsAt,
      holdSeconds,
      // A lift clears the seat almost wholly, whatever the depth of somebody's leans.
      depth: shift ? this.#random.uniform(0.1, 0.35) : kind === "lift" ? 1 - (1 - full) * 0.25 : full,
      shift,
    };
  }
}
