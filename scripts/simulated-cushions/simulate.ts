import { existsSync, readFileSync } from "node:fs";
import { parseArgs } from "node:util";
import { readPairingPicture } from "./camera.ts";
import { SimulatedCushion } from "./cushion.ts";
import type { CushionSpec } from "./cushion-spec.ts";
import { Delivery } from "./delivery.ts";
import { enrol, makeUnitKey } from "./enrol.ts";
import type { Fault } from "./faults.ts";
import { drawPerson } from "./population.ts";
import { TruthFile } from "./truth.ts";
import { hour, minute, second } from "./wall-clock.ts";

const help = `npx tsx scripts/simulated-cushions/simulate.ts --unit <serial> --code <code> [options]

Enrols one simulated cushion and lets it live: it reads the pairing code, makes its own key, claims the code and then
sends what it senses, minute by minute, until Ctrl-C.

  --server <url>       where the console is (http://localhost:8080)
  --unit <serial>      the serial on the label
  --code <code>        the pairing code: typed form, the long text of the picture, or a file with the picture (SVG)
  --seed <text>        another seed, another person (one)
  --zone <name>        time zone the person lives by (this computer's)
  --rows, --columns, --pitch <mm>   the grid (10, 10, 42)
  --dead-column <n>    this column is open, counted from 0 at the person's left
  --hours-before <n>   it was switched on this long ago and brings what it recorded since (0)
  --truth <file>       write down what really happened (one JSON object a line)
  --once               deliver what there is and stop
  --help
`;

const { values } = parseArgs({
  options: {
    server: { type: "string", default: "http://localhost:8080" },
    unit: { type: "string" },
    code: { type: "string" },
    seed: { type: "string", default: "one" },
    zone: { type: "string", default: Intl.DateTimeFormat().resolvedOptions().timeZone },
    rows: { type: "string", default: "10" },
    columns: { type: "string", default: "10" },
    pitch: { type: "string", default: "42" },
    "dead-column": { type: "string" },
    "hours-before": { type: "string", default: "0" },
    truth: { type: "string" },
    once: { type: "boolean", default: false },
    help: { type: "boolean", short: "h", default: false },
  },
});

async function main(): Promise<number> {
  const { unit, code } = values;
  if (values.help || unit === undefined || code === undefined) {
    console.log(help);
    return values.help ? 0 : 2;
  }
  const read = await readCode(code);
  if (read === null) {
    console.error(`No pairing code can be made out in ${code}.`);
    return 1;
  }
  const outcome = await enrol(values.server, unit, read, await makeUnitKey(unit));
  if (outcome.kind === "refused") {
    console.error(`Refused (${outcome.refusal.refused}): ${outcome.refusal.message}`);
    return 1;
  }
  console.log(
    `${unit} is enrolled. Its broker is ${outcome.enrolled.broker.host}:${outcome.enrolled.broker.port}.`,
  );
  const truth = values.truth === undefined ? null : new TruthFile(values.truth);
  const startsAt = Date.now() - Number(values["hours-before"]) * hour;
  const situation = { person: drawPerson(values.seed), personSeed: values.seed, zone: values.zone };
  const cushion = new SimulatedCushion(
    specFor(unit, startsAt),
    situation,
    values.seed,
    startsAt,
    truth ?? { tell: () => undefined },
  );
  cushion.follow(outcome.enrolled.plan);
  cushion.reportEvery(1);
  await live(new Delivery(cushion, outcome.enrolled), () => truth?.flush());
  truth?.close();
  return 0;
}

async function readCode(code: string): Promise<string | null> {
  if (!existsSync(code)) return code;
  return readPairingPicture(readFileSync(code, "utf8"));
}

function specFor(serial: string, from: number): CushionSpec {
  const column = values["dead-column"];
  const faults: Fault[] = column === undefined ? [] : [{ kind: "column-open", from, column: Number(column) }];
  return {
    serial,
    firmware: "2.4.1",
    hardware: "C",
    grid: {
      rows: Number(values.rows),
      columns: Number(values.columns),
      pitchMillimetres: Number(values.pitch),
    },
    battery: { ratedMilliampHours: 1_200, health: 0.97, charge: 0.8 },
    storeLimit: 6_000,
    clockDriftPartsPerMillion: 12,
    faults,
    radio: { signal: { mean: -62, deviation: 4 }, outages: [] },
  };
}

async function live(delivery: Delivery, flush: () => void): Promise<void> {
  let stopped = false;
  process.once("SIGINT", () => {
    stopped = true;
  });
  while (!stopped) {
    const now = Date.now();
    delivery.cushion.advance(now);
    const report = await delivery.deliver(now, 20);
    flush();
    if (report.problem !== null) console.error(`Not delivered yet: ${report.problem}`);
    else if (report.sent > 0)
      console.log(`${new Date(now).toISOString()} ${report.sent} delivered, ${report.waiting} waiting`);
    if (values.once && report.waiting === 0) break;
    const wait = minute - (Date.now() - now);
    for (let waited = 0; waited < wait && !stopped; waited += second) {
      await new Promise((resolve) => setTimeout(resolve, second));
    }
  }
  await delivery.hangUp();
}

main().then(
  (code) => process.exit(code),
  (problem: unknown) => {
    console.error(problem instanceof Error ? problem.message : String(problem));
    process.exit(1);
  },
);
