import { loadavg } from "node:os";
import type { BenchOptions as Asked } from "../bench.ts";
import { figure, printed, type Row } from "../result.ts";
import { benchGrowth } from "./growth-step.ts";
import type { BenchOptions } from "./options.ts";
import { benchSteady } from "./steady-step.ts";
import { benchStorage } from "./storage-step.ts";
import { benchThroughput } from "./throughput-step.ts";

const steps = [benchThroughput, benchSteady, benchGrowth, benchStorage];

/** The ingest, end to end and part by part. Reviews are not run beside it. */
export async function measureIngest({ quick, seed }: Asked): Promise<void> {
  const say = (line: string) => console.log(line);
  say(printed("ingest", await measured({ quick, seed: String(seed ?? 1), say })));
}

async function measured(options: BenchOptions): Promise<readonly Row[]> {
  const loads = [loadavg()[0] ?? 0];
  const rows: Row[] = [];
  for (const step of steps) {
    rows.push(...(await step(options)));
    loads.push(loadavg()[0] ?? 0);
  }
  const mean = loads.reduce((sum, load) => sum + load, 0) / loads.length;
  return [...rows, figure("load average of the machine meanwhile, its own share included", mean, "")];
}
