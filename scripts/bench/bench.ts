/** Measures the console against its stated bars: `npm run bench -- NAME [--quick] [--seed N]`. */
const benches = {
  health: async () => (await import("./health/bench.ts")).measureHealth,
};

const [name = "", ...rest] = process.argv.slice(2);
const measure = Object.entries(benches).find(([known]) => known === name)?.[1];
if (!measure) {
  process.stderr.write(`There is no bench called "${name}". Known: ${Object.keys(benches).join(", ")}.\n`);
  process.exit(2);
}
const seedAt = rest.indexOf("--seed");
const seed = seedAt === -1 ? 1 : Number(rest[seedAt + 1]);
if (!Number.isInteger(seed)) {
  process.stderr.write("--seed takes a whole number.\n");
  process.exit(2);
}
await (await measure())({ quick: rest.includes("--quick"), seed });
