import { loadavg } from "node:os";
import type { BenchOptions as Asked } from "../bench.ts";
import { figure, printed, type Row } from "../result.ts";
import { benchCatchUp } from "./catch-up-step.ts";
import { benchConnections } from "./connections-step.ts";
import { benchGrowth } from "./growth-step.ts";
import type { BenchOptions } from "./options.ts";
import { benchSteady } from "./steady-step.ts";
import { benchStorage } from "./storage-step.ts";
import { benchThroughput } from "./throughput-step.ts";

const parts: Readonly<Record<string, (options: BenchOptions) => Promise<Row[]>>> = {
  throughput: benchThroughput,
  steady: benchSteady,
  "catch-up": benchCatchUp,
  connections: benchConnections,
  growth: benchGrowth,
  storage: benchStorage,
};

/** The ingest, end to end and part by part. Reviews are not run beside it. */
export async function measureIngest({ quick, seed, only }: Asked): Promise<void> {
  const say = (line: string) => console.log(line);
  const unknown = only?.find((part) => parts[part] === undefined);
  if (unknown !== undefined) {
    console.error(`No part "${unknown}". One or more of: ${Object.keys(parts).join(", ")}`);
    process.exit(2);
  }
  say(printed("ingest", await measured({ quick, seed: String(seed ?? 1), say }, only)));
}

async function measured(options: BenchOptions, only: readonly string[] | null): Promise<readonly Row[]> {
  const loads = [loadavg()[0] ?? 0];
  const rows: Row[] = [];
  for (const [name, part] of Object.entries(parts)) {
    if (only !== null && !only.includes(name)) continue;
    rows.push(...(await part(options)));
    loads.push(loadavg()[0] ?? 0);
  }
  const [before = 0] = loads;
  const mean = loads.reduce((sum, load) => sum + load, 0) / loads.length;
  return [
    ...rows,
    figure("load average of the machine before", before, ""),
    figure("load average of the machine meanwhile, its own share included", mean, ""),
  ];
}
