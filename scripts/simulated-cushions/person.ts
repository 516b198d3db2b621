import type { ReliefKind } from "../../firmware-protocol/src/messages.ts";
import type { Moment } from "./wall-clock.ts";

/** How somebody takes the weight off. */
export interface ReliefHabit {
  /** Full reliefs of their own accord, each seated hour. */
  readonly fullPerSeatedHour: number;
  /** Smaller weight shifts, each seated hour: too shallow or too short to count as a relief. */
  readonly shiftsPerSeatedHour: number;
  /** How often a prompt is followed by a relief. */
  readonly answersPrompt: number;
  /** Which kinds, by weight; a kind that is left out is never done. */
  readonly kinds: readonly (readonly [ReliefKind, number])[];
  readonly holdSeconds: { readonly mean: number; readonly deviation: number };
  /** Share of the relieved side's load that really leaves it. */
  readonly depth: { readonly mean: number; readonly deviation: number };
}

export interface ChargeHabit {
  /** Plugs the charger in on going to bed, with this probability. */
  readonly atBedtime: number;
  /** Local minutes of the day at which the charger is also in, whatever the person is doing. */
  readonly daytime: readonly (readonly [fromMinute: number, untilMinute: number])[];
}

export interface Outing {
  readonly weekday: number;
  readonly fromMinute: number;
  readonly untilMinute: number;
}

export interface Habits {
  readonly weightKilograms: number;
  /** Left over right at rest; 0.5 to 1.4 is the usual range (Yang et al. 2009, Spinal Cord 47:67). */
  readonly leftOverRight: number;
  readonly upMinute: number;
  readonly bedMinute: number;
  readonly weekendLieInMinutes: number;
  readonly seatedHours: { readonly mean: number; readonly deviation: number };
  /** Times a day the person leaves the seat, going to bed included. */
  readonly transfers: { readonly mean: number; readonly deviation: number };
  /** In the chair, out of reach of the relay. */
  readonly outings: readonly Outing[];
  readonly charging: ChargeHabit;
  readonly reliefs: ReliefHabit;
}

/** From this moment on, something about the person is different. */
export interface HabitChange {
  readonly from: Moment;
  readonly until: Moment | null;
  readonly reliefs?: Partial<ReliefHabit>;
  readonly charging?: Partial<ChargeHabit>;
}

/** Away from chair and cushion altogether. */
export interface Absence {
  readonly from: Moment;
  readonly until: Moment;
  readonly why: "hospital" | "holiday";
  /** Somebody at home switches the cushion off this long after the person left; null: nobody does. */
  readonly switchedOffAfterMinutes: number | null;
}

export interface Person {
  readonly habits: Habits;
  readonly changes: readonly HabitChange[];
  readonly absences: readonly Absence[];
}

export function reliefHabitAt(person: Person, at: Moment): ReliefHabit {
  let habit = person.habits.reliefs;
  for (const change of person.changes) if (inForce(change, at)) habit = { ...habit, ...change.reliefs };
  return habit;
}

export function chargeHabitAt(person: Person, at: Moment): ChargeHabit {
  let habit = person.habits.charging;
  for (const change of person.changes) if (inForce(change, at)) habit = { ...habit, ...change.charging };
  return habit;
}

export const absenceAt = (person: Person, at: Moment): Absence | null =>
  person.absences.find((absence) => absence.from <= at && at < absence.until) ?? null;

const inForce = (change: HabitChange, at: Moment): boolean =>
  change.from <= at && (change.until === null || at < change.until);
