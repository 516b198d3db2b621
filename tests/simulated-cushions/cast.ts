import { SimulatedCushion } from "../../scripts/simulated-cushions/cushion.ts";
import type { CushionSpec } from "../../scripts/simulated-cushions/cushion-spec.ts";
import type { Habits, Person } from "../../scripts/simulated-cushions/person.ts";
import { TruthList } from "../../scripts/simulated-cushions/truth.ts";
import { day, type Moment } from "../../scripts/simulated-cushions/wall-clock.ts";

export const zone = "Europe/London";
export const start: Moment = Date.UTC(2026, 4, 4, 5, 0);

/** A steady person who takes the weight off in every direction, and a sound cushion. */
export const steadyHabits: Habits = {
  weightKilograms: 72,
  leftOverRight: 1,
  upMinute: 7 * 60,
  bedMinute: 22 * 60,
  weekendLieInMinutes: 0,
  seatedHours: { mean: 11, deviation: 0.5 },
  transfers: { mean: 6, deviation: 1 },
  outings: [],
  charging: { atBedtime: 1, daytime: [] },
  reliefs: {
    fullPerSeatedHour: 2,
    shiftsPerSeatedHour: 2,
    answersPrompt: 0.7,
    kinds: [
      ["lean-left", 1],
      ["lean-right", 1],
      ["lean-forward", 1],
      ["lift", 1],
    ],
    holdSeconds: { mean: 90, deviation: 10 },
    depth: { mean: 0.53, deviation: 0.04 },
  },
};

export const steadyPerson: Person = { habits: steadyHabits, changes: [], absences: [] };

export const soundCushion: CushionSpec = {
  serial: "CU-000901",
  firmware: "2.4.1",
  hardware: "C",
  grid: { rows: 10, columns: 10, pitchMillimetres: 42 },
  battery: { ratedMilliampHours: 1_200, health: 0.97, charge: 0.9 },
  storeLimit: 20_000,
  clockDriftPartsPerMillion: 14,
  faults: [],
  radio: { signal: { mean: -62, deviation: 4 }, outages: [] },
};

export interface Lived {
  readonly cushion: SimulatedCushion;
  readonly truth: TruthList;
}

/** Lets a cushion live under a person for some days, undelivered. */
export function live(options: {
  readonly spec?: Partial<CushionSpec>;
  readonly person?: Person;
  readonly days: number;
  readonly seed?: string;
}): Lived {
  const truth = new TruthList();
  const situation = { person: options.person ?? steadyPerson, personSeed: options.seed ?? "steady", zone };
  const spec = { ...soundCushion, ...options.spec };
  const cushion = new SimulatedCushion(spec, situation, options.seed ?? "steady", start, truth);
  cushion.follow({ version: 1, intervalMinutes: 30, holdSeconds: 60, kinds: ["lean-left", "lean-right"] });
  cushion.receive({ kind: "receipt", stored: [], serverUnixSeconds: start / 1_000 }, start);
  cushion.advance(start + options.days * day);
  return { cushion, truth };
}
