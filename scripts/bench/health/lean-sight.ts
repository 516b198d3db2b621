import type { Fault } from "../../simulated-cushions/faults.ts";
import { randomFrom } from "../../simulated-cushions/random.ts";
import { day } from "../../simulated-cushions/wall-clock.ts";
import { healthAt } from "./dead-zones.ts";
import { fleetStart, type Lived, liveUnit, type UnitOrder } from "./fleet.ts";
import { type BenchOptions, type Row, round, shareOf } from "./rows.ts";
import { tooFewToTell } from "./too-few-to-tell.ts";

/** Of the leans really done, the share that the firmware told of; null of fewer than forty. */
function shareSeen({ truth }: Lived, direction: string, from: number): number | null {
  const done = truth.events.filter(
    (event) => event.what === "relief" && event.kind === `lean-${direction}` && event.at >= from,
  );
  return done.length < 40
    ? null
    : shareOf(done.filter((event) => event.what === "relief" && event.seen).length, done.length);
}

const breaksAfter = 9;
const watchedFor = 24;

/** A line under the load breaks; what the console expects three days later, against what the firmware then reports of the
 *  leans that are really done in the weeks around. */
export function leanSight({ quick, seed }: BenchOptions): Row[] {
  const units = quick ? 8 : 80;
  const from = fleetStart + breaksAfter * day;
  let covered = 0;
  let sharp = 0;
  let sharpCovered = 0;
  const errors: number[] = [];
  for (let unit = 0; unit < units; unit++) {
    const name = `${seed}/sight/${unit}`;
    const random = randomFrom(`${name}/fault`);
    const order: UnitOrder = {
      days: breaksAfter + watchedFor,
      person: ({ habits, ...rest }) => ({
        ...rest,
        habits: {
          ...habits,
          reliefs: {
            ...habits.reliefs,
            fullPerSeatedHour: 2,
            depth: { mean: random.uniform(0.45, 0.66), deviation: 0.06 },
          },
        },
      }),
      faults: ({ rows, columns }): Fault[] =>
        random.chance(0.5)
          ? [{ kind: "column-open", from, column: Math.floor(random.uniform(0.2, 0.8) * columns) }]
          : [{ kind: "row-open", from, row: Math.floor(random.uniform(0.5, 0.9) * rows) }],
    };
    const lived = liveUnit(name, order);
    const sound = liveUnit(name, { ...order, person: () => lived.person, faults: () => [] });
    for (const { direction, outOfTen } of healthAt(lived, from + 3 * day).grid?.visibility ?? []) {
      const ofSound = shareSeen(sound, direction, fleetStart);
      const ofBroken = shareSeen(lived, direction, from);
      if (ofSound === null || ofBroken === null || ofSound < 0.3) continue;
      // Of ten that a sound grid would have shown.
      const truth = Math.min(10, (10 * ofBroken) / ofSound);
      const inside = outOfTen.low <= truth + 1e-9 && truth <= outOfTen.high + 1e-9;
      errors.push(Math.abs(outOfTen.best - truth) / 10);
      if (inside) covered++;
      if (truth > 0.5 && truth < 9.5) {
        sharp++;
        if (inside) sharpCovered++;
      }
    }
  }
  const mean = errors.reduce((sum, error) => sum + error, 0) / errors.length;
  const coverage = shareOf(covered, errors.length);
  return [
    {
      name: "90 % intervals cover the truth: lean visibility",
      value: round(coverage),
      unit: "share",
      bar: "0.86 to 0.94",
      holds: coverage >= 0.86 && coverage <= 0.94,
      beside: `${errors.length} directions of ${units} units; of the ${sharp} neither seen nor missed nearly always: ${round(shareOf(sharpCovered, sharp))}${tooFewToTell(covered, errors.length, [0.86, 0.94])}`,
    },
    {
      name: "predicted lean visibility against replayed truth, mean absolute error",
      value: round(mean),
      unit: "share of leans",
      bar: "< 0.05",
      holds: mean < 0.05,
      beside: `${errors.length} directions, at least 40 leans each`,
    },
  ];
}
