import type { CushionSpec } from "../simulated-cushions/cushion-spec.ts";
import type { Fault, Outage } from "../simulated-cushions/faults.ts";
import type { Habits, Person, ReliefHabit } from "../simulated-cushions/person.ts";
import { drawPerson } from "../simulated-cushions/population.ts";
import { type Moment, minute } from "../simulated-cushions/wall-clock.ts";
import type { Calendar } from "./calendar.ts";
import type { BorrowerKey } from "./invented-cast.ts";
import { tellings } from "./stories.ts";

export interface PlanAsked {
  readonly intervalMinutes: number;
  readonly holdSeconds: number;
  readonly kinds: readonly ("lift" | "lean-left" | "lean-right" | "lean-forward" | "tilt")[];
}

/** One loan's story: who sits on which cushion, and what really happens. The server is never told. */
export interface Story {
  readonly borrower: BorrowerKey;
  readonly serial: string;
  /** One line for whoever runs the demo. */
  readonly tells: string;
  readonly lentAt: Moment;
  readonly person: Person;
  readonly plan: PlanAsked;
  readonly spec: Pick<CushionSpec, "faults" | "radio"> & { readonly health: number; readonly charge: number };
}

/** A story as it is told in the table: what isn't said is ordinary. */
export interface Telling {
  readonly serial: string;
  readonly tells: string;
  readonly lentDaysAgo?: number;
  readonly habits?: Partial<Omit<Habits, "reliefs">>;
  readonly reliefs?: Partial<ReliefHabit>;
  readonly changes?: Person["changes"];
  readonly absences?: Person["absences"];
  readonly plan?: PlanAsked;
  readonly faults?: readonly Fault[];
  readonly outages?: readonly Outage[];
  readonly signal?: { readonly mean: number; readonly deviation: number };
  readonly health?: number;
  readonly charge?: number;
}

/** People of this programme were taught to take the weight off and mostly do: more than the published average. */
const taught: ReliefHabit = {
  fullPerSeatedHour: 1.1,
  shiftsPerSeatedHour: 2.4,
  answersPrompt: 0.75,
  kinds: [
    ["lean-left", 3],
    ["lean-right", 3],
    ["lean-forward", 2],
    ["lift", 1],
  ],
  holdSeconds: { mean: 105, deviation: 18 },
  depth: { mean: 0.62, deviation: 0.06 },
};

const ordinaryPlan: PlanAsked = {
  intervalMinutes: 30,
  holdSeconds: 60,
  kinds: ["lean-left", "lean-right", "lean-forward"],
};

export function storiesOf(calendar: Calendar, seed: string): readonly Story[] {
  const told = tellings(calendar);
  const keys = Object.keys(told).filter((key): key is BorrowerKey => key in told);
  return keys.map((borrower, index) => {
    const telling = told[borrower];
    const lent =
      telling.lentDaysAgo === undefined
        ? calendar.startsAt + (20 + index * 6) * minute
        : calendar.daysAgo(telling.lentDaysAgo, 10, 30);
    return {
      borrower,
      serial: telling.serial,
      tells: telling.tells,
      lentAt: Math.max(lent, calendar.startsAt + (20 + index * 6) * minute),
      person: personOf(borrower, telling, seed),
      plan: telling.plan ?? ordinaryPlan,
      spec: {
        faults: telling.faults ?? [],
        radio: { signal: telling.signal ?? { mean: -64, deviation: 4 }, outages: telling.outages ?? [] },
        health: telling.health ?? 0.96,
        charge: telling.charge ?? 0.9,
      },
    };
  });
}

function personOf(borrower: BorrowerKey, telling: Telling, seed: string): Person {
  const drawn = drawPerson(`${seed}/${borrower}`).habits;
  return {
    habits: {
      ...drawn,
      seatedHours: { mean: Math.max(8.5, drawn.seatedHours.mean), deviation: 1 },
      charging: { atBedtime: 0.85, daytime: [] },
      ...telling.habits,
      reliefs: { ...taught, ...telling.reliefs },
    },
    changes: telling.changes ?? [],
    absences: telling.absences ?? [],
  };
}
