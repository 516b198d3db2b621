/** `npm run bench -- NAME [--quick] [--seed N]`: measures, prints a table, and ends with one line of JSON. */
import { parseArgs } from "node:util";
import { printed } from "./result.ts";

export interface BenchOptions {
  /** Smaller numbers of the same things, in under a minute. */
  readonly quick: boolean;
  readonly seed: number;
  say(line: string): void;
}

type Bench = (options: BenchOptions) => Promise<void> | void;

/** Each is loaded only when asked for: one bench's parts are no business of another's. */
const benches: Readonly<Record<string, () => Promise<Bench>>> = {
  health: async () => (await import("./health/bench.ts")).measureHealth,
  ingest: async () => {
    const { benchIngest } = await import("./ingest/bench-ingest.ts");
    return async (options) => options.say(printed("ingest", await benchIngest(options)));
  },
};

const { values, positionals } = parseArgs({
  options: { quick: { type: "boolean", default: false }, seed: { type: "string", default: "1" } },
  allowPositionals: true,
});
const [name = ""] = positionals;
const load = benches[name];
const seed = Number(values.seed);
if (load === undefined || positionals.length !== 1) {
  console.error(`Which bench? One of: ${Object.keys(benches).join(", ")}`);
  process.exit(2);
}
if (!Number.isInteger(seed)) {
  console.error("--seed takes a whole number.");
  process.exit(2);
}
const bench = await load();
await bench({ quick: values.quick, seed, say: (line) => console.log(line) });
