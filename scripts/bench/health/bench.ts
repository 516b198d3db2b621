import { loadavg } from "node:os";
import type { BenchOptions as Asked } from "../bench.ts";
import { capacityAfterTenCharges, endOfLife, hoursToEmpty } from "./battery.ts";
import { deadCells, deadLines, stuckCells } from "./dead-zones.ts";
import { type Alarms, falseDeadZones, soundFleet } from "./false-alarms.ts";
import { otherGridFaults, turnedInserts } from "./grid-in-use.ts";
import { hazardShown } from "./hazard-shown.ts";
import { leanSight } from "./lean-sight.ts";
import { oneMoreDay } from "./one-more-day.ts";
import { type BenchOptions, printJson, printTable, type Row } from "./rows.ts";
import { zeroDrift } from "./zero-drift.ts";

/** The sound fleet is lived once, and only where a part asks for it. */
type Part = (options: BenchOptions, sound: () => Alarms) => Row | readonly Row[] | Promise<Row>;

const parts: Readonly<Record<string, Part>> = {
  lines: deadLines,
  cells: deadCells,
  stuck: stuckCells,
  alarms: (_, sound) => falseDeadZones(sound()),
  drift: (options, sound) => zeroDrift(options, sound()),
  turned: turnedInserts,
  capacity: capacityAfterTenCharges,
  empty: hoursToEmpty,
  worn: endOfLife,
  leans: leanSight,
  hazard: hazardShown,
  "one-more-day": oneMoreDay,
};
const others = "others";

/** Simulated fleets with their truth against the console's own computation, in this process. */
export async function measureHealth(asked: Asked): Promise<void> {
  const options: BenchOptions = { quick: asked.quick, seed: asked.seed ?? 1 };
  const wanted = (name: string): boolean => asked.only === null || asked.only.includes(name);
  const strange = asked.only?.find((name) => name !== others && !Object.hasOwn(parts, name));
  if (strange !== undefined) {
    process.stderr.write(`No part ${strange}; there are ${[...Object.keys(parts), others].join(", ")}\n`);
    process.exit(2);
  }
  const begun = performance.now();
  process.stdout.write(
    `health bench, seed ${options.seed}${options.quick ? ", quick" : ""}; load average ${loadavg()[0]?.toFixed(1)}\n`,
  );
  let lived: Alarms | null = null;
  const sound = (): Alarms => {
    lived ??= soundFleet(options);
    return lived;
  };
  const rows: Row[] = [];
  for (const [name, part] of Object.entries(parts))
    if (wanted(name)) rows.push(...[await part(options, sound)].flat());
  printTable(rows);
  if (wanted(others)) for (const line of otherGridFaults(options)) process.stdout.write(`also    ${line}\n`);
  process.stdout.write(`took ${Math.round((performance.now() - begun) / 1_000)} s\n`);
  printJson("health", rows);
}
