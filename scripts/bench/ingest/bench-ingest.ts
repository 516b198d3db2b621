import { loadavg } from "node:os";
import type { BenchOptions } from "../bench.ts";
import { figure, type Row } from "../result.ts";
import { benchStorage } from "./storage-step.ts";

export async function benchIngest(options: BenchOptions): Promise<readonly Row[]> {
  const before = loadavg()[0] ?? 0;
  const rows = [...(await benchStorage(options))];
  return [
    ...rows,
    figure("load average of the machine before and after, mean", (before + (loadavg()[0] ?? 0)) / 2, ""),
  ];
}
