import { loadavg } from "node:os";
import type { BenchOptions } from "../bench.ts";
import { figure, type Row } from "../result.ts";
import { benchGrowth } from "./growth-step.ts";
import { benchSteady } from "./steady-step.ts";
import { benchStorage } from "./storage-step.ts";
import { benchThroughput } from "./throughput-step.ts";

const steps = [benchThroughput, benchSteady, benchGrowth, benchStorage];

/** The ingest, end to end and part by part. Reviews are not run beside it. */
export async function benchIngest(options: BenchOptions): Promise<readonly Row[]> {
  const loads = [loadavg()[0] ?? 0];
  const rows: Row[] = [];
  for (const step of steps) {
    rows.push(...(await step(options)));
    loads.push(loadavg()[0] ?? 0);
  }
  const mean = loads.reduce((sum, load) => sum + load, 0) / loads.length;
  return [...rows, figure("load average of the machine meanwhile, its own share included", mean, "")];
}
