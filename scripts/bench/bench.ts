/** `npm run bench -- NAME [--quick] [--seed N] [--only PART,...]`: measures, prints a table, and ends with one line of
 *  JSON. */
import { parseArgs } from "node:util";

export interface BenchOptions {
  /** Smaller numbers of the same things, in under a minute. */
  readonly quick: boolean;
  /** null: the bench's own seeds. */
  readonly seed: number | null;
  /** null: all of the bench's parts. */
  readonly only: readonly string[] | null;
}

type Bench = (options: BenchOptions) => Promise<void> | void;

/** Each is loaded only when asked for: one bench's parts are no business of another's. */
const benches: Readonly<Record<string, () => Promise<Bench>>> = {
  health: async () => (await import("./health/bench.ts")).measureHealth,
  ingest: async () => (await import("./ingest/bench-ingest.ts")).measureIngest,
  verdicts: async () => (await import("./verdicts/verdicts.ts")).measureVerdicts,
};

const { values, positionals } = parseArgs({
  options: { quick: { type: "boolean", default: false }, seed: { type: "string" }, only: { type: "string" } },
  allowPositionals: true,
});
const [name = ""] = positionals;
const load = benches[name];
const seed = values.seed === undefined ? null : Number(values.seed);
if (load === undefined || positionals.length !== 1) {
  console.error(`Which bench? One of: ${Object.keys(benches).join(", ")}`);
  process.exit(2);
}
if (seed !== null && !Number.isInteger(seed)) {
  console.error("--seed takes a whole number.");
  process.exit(2);
}
const bench = await load();
if (values.only !== undefined && name === "verdicts") {
  console.error("--only is for the parts of the ingest and health benches; verdicts are measured whole.");
  process.exit(2);
}
await bench({ quick: values.quick, seed, only: values.only?.split(",") ?? null });
