import type { BenchOptions as Asked } from "../bench.ts";
import { optionsFor } from "./options.ts";
import { printRows } from "./rows.ts";
import { runBench } from "./run-bench.ts";

/** Verdicts against programmes whose truth is known, beside an oracle and two plain rules. */
export async function measureVerdicts(asked: Asked): Promise<void> {
  const rows = await runBench(optionsFor(asked));
  printRows(rows);
  process.stdout.write(`${JSON.stringify({ bench: "verdicts", rows })}\n`);
}
