import type { BenchOptions as Asked } from "../bench.ts";
import { optionsFor } from "./options.ts";
import { printRows } from "./rows.ts";
import { runBench } from "./run-bench.ts";

/** Verdicts against programmes whose truth is known, beside an oracle and two plain rules. */
export function measureVerdicts(asked: Asked): void {
  const rows = runBench(optionsFor(asked));
  printRows(rows);
  process.stdout.write(`${JSON.stringify({ bench: "verdicts", rows })}\n`);
}
