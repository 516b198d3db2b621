import { findingsOf } from "../../../server/domain/condition/findings/findings-of.ts";
import { type OpenFinding, reconcileFindings } from "../../../server/domain/condition/reconcile-findings.ts";
import type { Person } from "../../simulated-cushions/person.ts";
import { day } from "../../simulated-cushions/wall-clock.ts";
import { healthAt } from "./dead-zones.ts";
import { fleetStart, type Lived, liveUnit } from "./fleet.ts";
import { type BenchOptions, type Row, round } from "./rows.ts";
import { tooFewToTell } from "./too-few-to-tell.ts";

/** People who make a sound cushion look broken: they sit to one side, hardly weigh, sit long, stop leaning. */
const mimics: readonly ((drawn: Person, from: number) => Person)[] = [
  (drawn) => drawn,
  ({ habits, ...rest }) => ({ ...rest, habits: { ...habits, leftOverRight: 0.5 } }),
  ({ habits, ...rest }) => ({ ...rest, habits: { ...habits, leftOverRight: 1.5 } }),
  ({ habits, ...rest }) => ({ ...rest, habits: { ...habits, weightKilograms: 46 } }),
  (drawn, from) => ({
    ...drawn,
    changes: [
      {
        from,
        until: null,
        reliefs: { fullPerSeatedHour: 0, answersPrompt: 0 },
        charging: { atBedtime: 0.4 },
      },
    ],
  }),
];

export interface Alarms {
  readonly unitYears: number;
  /** How often each kind of finding was raised on a sound unit. */
  readonly raised: ReadonlyMap<string, number>;
}

const daysAYear = 365.25;

/** Sound units, assessed every third day, and everything that was raised. */
export function soundFleet({ quick, seed }: BenchOptions): Alarms {
  const units = quick ? 10 : 100;
  const days = quick ? 40 : 91;
  const every = 3;
  const raised = new Map<string, number>();
  for (let unit = 0; unit < units; unit++) {
    const mimic = mimics[unit % mimics.length] ?? ((drawn: Person) => drawn);
    const lived = liveUnit(`${seed}/sound/${unit}`, {
      days,
      person: (drawn) => mimic(drawn, fleetStart + 20 * day),
    });
    for (const kind of raisedOver(lived, every)) raised.set(kind, (raised.get(kind) ?? 0) + 1);
  }
  return { unitYears: (units * days) / daysAYear, raised };
}

function raisedOver(lived: Lived, every: number): string[] {
  const kinds: string[] = [];
  let open: OpenFinding[] = [];
  for (let days = 2; days <= lived.days; days += every) {
    const { raised, kept } = reconcileFindings(open, findingsOf(healthAt(lived, fleetStart + days * day)));
    kinds.push(...raised.map(({ kind }) => kind));
    open = [
      ...kept.map((each) => each.open),
      ...raised.map(({ kind, where, since }) => ({ id: `${kind}/${where}`, kind, where, since })),
    ];
  }
  return kinds;
}

const deadZones = ["row-open", "column-open", "cell-open", "cell-stuck"];

export function falseDeadZones({ unitYears, raised }: Alarms): Row {
  const alarms = deadZones.reduce((sum, kind) => sum + (raised.get(kind) ?? 0), 0);
  const others = [...raised].filter(([kind]) => !deadZones.includes(kind));
  return {
    name: "false dead-zone alarms",
    value: round(alarms / unitYears),
    unit: "per unit-year",
    bar: "<= 0.1",
    holds: alarms / unitYears <= 0.1,
    beside: `${alarms} in ${round(unitYears, 1)} unit-years, one in five a mimic of each sort; also raised: ${others.map(([kind, count]) => `${kind} ${count}`).join(", ") || "nothing"}${tooFewToTell(alarms, Math.round(unitYears * daysAYear), [0.1], daysAYear)}`,
  };
}
