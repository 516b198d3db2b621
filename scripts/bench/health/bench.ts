import { loadavg } from "node:os";
import type { BenchOptions as Asked } from "../bench.ts";
import { capacityAfterTenCharges, endOfLife, hoursToEmpty } from "./battery.ts";
import { deadCells, deadLines, stuckCells } from "./dead-zones.ts";
import { falseDeadZones, soundFleet } from "./false-alarms.ts";
import { otherGridFaults, turnedInserts } from "./grid-in-use.ts";
import { hazardShown } from "./hazard-shown.ts";
import { leanSight } from "./lean-sight.ts";
import { oneMoreDay } from "./one-more-day.ts";
import { type BenchOptions, printJson, printTable, type Row } from "./rows.ts";
import { zeroDrift } from "./zero-drift.ts";

/** Simulated fleets with their truth against the console's own computation, in this process. */
export async function measureHealth(asked: Asked): Promise<void> {
  const options: BenchOptions = { quick: asked.quick, seed: asked.seed ?? 1 };
  const begun = performance.now();
  process.stdout.write(
    `health bench, seed ${options.seed}${options.quick ? ", quick" : ""}; load average ${loadavg()[0]?.toFixed(1)}\n`,
  );
  const sound = soundFleet(options);
  const rows: Row[] = [
    deadLines(options),
    deadCells(options),
    stuckCells(options),
    falseDeadZones(sound),
    zeroDrift(options, sound),
    turnedInserts(options),
    capacityAfterTenCharges(options),
    hoursToEmpty(options),
    endOfLife(options),
    ...leanSight(options),
    await hazardShown(options),
    await oneMoreDay(options),
  ];
  printTable(rows);
  for (const line of otherGridFaults(options)) process.stdout.write(`also    ${line}\n`);
  process.stdout.write(`took ${Math.round((performance.now() - begun) / 1_000)} s\n`);
  printJson("health", rows);
}
