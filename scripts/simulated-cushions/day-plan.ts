import { absenceAt, chargeHabitAt, type Habits, type Person } from "./person.ts";
import { type Random, randomFrom } from "./random.ts";
import { type LocalMinute, localMinute, type Moment } from "./wall-clock.ts";

/** What a person is doing in one minute, as far as a cushion is concerned. */
export interface Doing {
  readonly seated: boolean;
  /** In the chair and out of the relay's reach. */
  readonly out: boolean;
  readonly chargerIn: boolean;
}

const nowhere: Doing = { seated: false, out: false, chargerIn: false };
const seatedFlag = 1;
const outFlag = 2;
/** Going to bed comes first, the charger a little later. */
const minutesToPlugIn = 12;

/** A person's time, minute by minute. Days are planned once each, from their own stream of chance. */
export class DayPlanner {
  readonly #person: Person;
  readonly #zone: string;
  readonly #seed: string;
  readonly #days = new Map<number, Uint8Array>();
  readonly #bedtimes = new Map<number, readonly [upMinute: number, bedMinute: number]>();

  constructor(person: Person, zone: string, seed: string) {
    this.#person = person;
    this.#zone = zone;
    this.#seed = seed;
  }

  doingAt(at: Moment): Doing {
    if (absenceAt(this.#person, at)) return nowhere;
    const local = localMinute(at, this.#zone);
    const flags = this.#planOf(local)[local.minuteOfDay] ?? 0;
    return {
      seated: (flags & seatedFlag) !== 0,
      out: (flags & outFlag) !== 0,
      chargerIn: this.#chargerIn(local, at),
    };
  }

  #planOf(local: LocalMinute): Uint8Array {
    let plan = this.#days.get(local.dayNumber);
    if (!plan) {
      const random = randomFrom(`${this.#seed}/day/${local.dayNumber}`);
      const [up, bed] = upAndBed(this.#person.habits, local.weekday, random);
      plan = planDay(this.#person.habits, local.weekday, up, bed, random);
      this.#days.set(local.dayNumber, plan);
      this.#bedtimes.set(local.dayNumber, [up, bed]);
    }
    return plan;
  }

  #chargerIn(local: LocalMinute, at: Moment): boolean {
    const habit = chargeHabitAt(this.#person, at);
    if (habit.daytime.some(([from, until]) => from <= local.minuteOfDay && local.minuteOfDay < until))
      return true;
    const [up, bed] = this.#bedtimes.get(local.dayNumber) ?? [0, 1440];
    if (local.minuteOfDay >= bed + minutesToPlugIn) return this.#plugsIn(local.dayNumber, habit.atBedtime);
    return local.minuteOfDay < up && this.#plugsIn(local.dayNumber - 1, habit.atBedtime);
  }

  #plugsIn(evening: number, probability: number): boolean {
    return randomFrom(`${this.#seed}/charge/${evening}`).chance(probability);
  }
}

function upAndBed(habits: Habits, weekday: number, random: Random): readonly [number, number] {
  const lieIn = weekday >= 6 ? habits.weekendLieInMinutes : 0;
  const up = Math.round(habits.upMinute + lieIn + random.normal(0, 14));
  const bed = Math.round(habits.bedMinute + random.normal(0, 18));
  return [Math.max(240, up), Math.min(1439 - minutesToPlugIn, bed)];
}

/** Spreads the day's seated time and the time off the seat over alternating spells. */
function planDay(habits: Habits, weekday: number, up: number, bed: number, random: Random): Uint8Array {
  const plan = new Uint8Array(1440);
  const awake = bed - up;
  const wanted = 60 * random.normal(habits.seatedHours.mean, habits.seatedHours.deviation);
  const leaves = Math.max(1, Math.round(random.normal(habits.transfers.mean, habits.transfers.deviation)));
  const breaks = leaves - 1;
  const seated = Math.round(Math.min(awake - 5 * breaks, Math.max(90, wanted)));
  const sits = shares(seated, breaks + 1, 6, random);
  const offs = shares(awake - seated, breaks, 4, random);
  let minuteOfDay = up;
  sits.forEach((length, index) => {
    plan.fill(seatedFlag, minuteOfDay, minuteOfDay + length);
    minuteOfDay += length + (offs[index] ?? 0);
  });
  for (const outing of habits.outings) {
    if (outing.weekday === weekday) plan.fill(seatedFlag | outFlag, outing.fromMinute, outing.untilMinute);
  }
  return plan;
}

/** Cuts `total` minutes into `count` parts of at least `least`, exponentially unequal. */
function shares(total: number, count: number, least: number, random: Random): number[] {
  if (count <= 0) return [];
  const spare = Math.max(0, total - count * least);
  const weights = Array.from({ length: count }, () => random.exponential());
  const sum = weights.reduce((a, b) => a + b, 0);
  let used = 0;
  let carried = 0;
  return weights.map((weight) => {
    carried += (weight / sum) * spare;
    const part = Math.round(carried) - used;
    used += part;
    return least + part;
  });
}
