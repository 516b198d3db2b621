import { DayPlanner, type Doing } from "./day-plan.ts";
import { type Absence, absenceAt, type Person } from "./person.ts";
import { type Random, randomFrom } from "./random.ts";
import { type ReliefAct, ReliefActs } from "./relief-acts.ts";
import { restingLoad, type SeatLoad } from "./seat-load.ts";
import { placesToSitCount } from "./sensor-grid.ts";
import type { TruthEvent } from "./truth.ts";
import type { Moment } from "./wall-clock.ts";

export interface Situation {
  readonly person: Person;
  /** Two cushions lent to one person after another share this: the person's days don't change with the cushion. */
  readonly personSeed: string;
  readonly zone: string;
}

/** The body over the cushion, minute by minute, and how it weighs on the seat. */
export class Sitter {
  readonly #person: Person;
  readonly #planner: DayPlanner;
  readonly #acts: ReliefActs;
  readonly #rest: SeatLoad;
  readonly #random: Random;
  readonly #tell: (at: Moment, event: TruthEvent) => void;
  #doing: Doing = { seated: false, out: false, chargerIn: false };
  #away: Absence["why"] | null = null;
  #minutesSeated = 0;
  #place = 0;

  constructor(situation: Situation, posture: Random, tell: (at: Moment, event: TruthEvent) => void) {
    const { person, personSeed, zone } = situation;
    this.#person = person;
    this.#planner = new DayPlanner(person, zone, personSeed);
    this.#acts = new ReliefActs(person, randomFrom(`${personSeed}/reliefs`));
    this.#rest = restingLoad(person.habits.weightKilograms, person.habits.leftOverRight);
    this.#random = posture;
    this.#tell = tell;
  }

  get doing(): Doing {
    return this.#doing;
  }

  get minutesSeated(): number {
    return this.#minutesSeated;
  }

  /** Which of the places to sit was taken this time. */
  get place(): number {
    return this.#place;
  }

  absenceAt(at: Moment): Absence | null {
    return absenceAt(this.#person, at);
  }

  prompted(at: Moment): void {
    this.#acts.prompted(at);
  }

  /** Lives through the minute that starts at `at`.
   *  @returns the relief or weight shift begun in it, if any */
  live(at: Moment): ReliefAct | null {
    const was = this.#doing;
    this.#goOrCome(at);
    this.#doing = this.#planner.doingAt(at);
    const { seated, chargerIn, out } = this.#doing;
    if (chargerIn !== was.chargerIn) this.#tell(at, { what: chargerIn ? "charger-in" : "charger-out" });
    if (out !== was.out) this.#tell(at, { what: out ? "out-of-reach" : "in-reach" });
    if (seated !== was.seated) this.#tell(at, { what: seated ? "sat-down" : "got-up" });
    if (!seated) {
      if (was.seated) this.#acts.leftTheSeat();
      return null;
    }
    if (!was.seated) {
      this.#place = Math.floor(this.#random.next() * placesToSitCount);
      this.#minutesSeated = 0;
    }
    this.#minutesSeated += 1;
    return this.#acts.within(at);
  }

  /** Nobody sits like a sack: a few per cent to either side from minute to minute.
   *  @returns null while nobody sits */
  load(): SeatLoad | null {
    if (!this.#doing.seated) return null;
    const sway = this.#random.normal(0, 0.03);
    return {
      leftBone: this.#rest.leftBone * (1 - sway),
      leftThigh: this.#rest.leftThigh * (1 - sway),
      rightBone: this.#rest.rightBone * (1 + sway),
      rightThigh: this.#rest.rightThigh * (1 + sway),
    };
  }

  #goOrCome(at: Moment): void {
    const why = this.absenceAt(at)?.why ?? null;
    if (why === this.#away) return;
    this.#tell(at, { what: why ? "left-home" : "came-home", why: why ?? this.#away ?? "" });
    this.#away = why;
  }
}
