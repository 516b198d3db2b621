import { readOptions } from "./options.ts";
import { printRows } from "./rows.ts";
import { runBench } from "./run-bench.ts";

const rows = runBench(readOptions());
printRows(rows);
process.stdout.write(`${JSON.stringify({ bench: "verdicts", rows })}\n`);
