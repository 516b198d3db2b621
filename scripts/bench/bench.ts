/** `npm run bench -- NAME [--quick] [--seed N]`: measures, prints a table, and ends with one line of JSON. */
import { parseArgs } from "node:util";
import { benchIngest } from "./ingest/bench-ingest.ts";
import { printed, type Row } from "./result.ts";

export interface BenchOptions {
  /** Smaller numbers of the same things, in under a minute. */
  readonly quick: boolean;
  readonly seed: string;
  say(line: string): void;
}

const benches: Readonly<Record<string, (options: BenchOptions) => Promise<readonly Row[]>>> = {
  ingest: benchIngest,
};

const { values, positionals } = parseArgs({
  options: { quick: { type: "boolean", default: false }, seed: { type: "string", default: "1" } },
  allowPositionals: true,
});
const [name = ""] = positionals;
const bench = benches[name];
if (bench === undefined || positionals.length !== 1) {
  console.error(`Which bench? One of: ${Object.keys(benches).join(", ")}`);
  process.exit(2);
}
const rows = await bench({ quick: values.quick, seed: values.seed, say: (line) => console.log(line) });
console.log(printed(name, rows));
