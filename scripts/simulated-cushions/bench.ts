import { existsSync, readFileSync } from "node:fs";
import { parseArgs } from "node:util";
import { BenchedCushion } from "./benched-cushion.ts";
import { readPairingPicture } from "./camera.ts";
import { Delivery } from "./delivery.ts";
import { enrol, makeUnitKey } from "./enrol.ts";
import type { Fault } from "./faults.ts";
import { Rig } from "./rig.ts";
import { minute, second } from "./wall-clock.ts";

const help = `npx tsx scripts/simulated-cushions/bench.ts --unit <serial> --code <code> [options]

A simulated cushion on a bench, under a rig. It claims the code that the page of a bench session shows, and answers what
it is asked there. The rig puts the loads of a guided session on, in order: the next one after every four pictures.

  --server <url>       where the console is (http://localhost:8080)
  --plate <kg>         the plate at full load (80)       --weight <kg>   the known weight (20)
  --rows, --columns, --pitch <mm>   the grid (10, 10, 42)
  --dead-column <n>    this column is open, counted from 0 at the person's left
  --pictures <n>       pictures of each load (4)
  --start-at <n>       begin with this load of the plan (0)
  --boots-before <n>   boots of the unit's life so far (grows with the date)
  --seed <text>        the grid it was made with (one)
`;

const { values } = parseArgs({
  options: {
    server: { type: "string", default: "http://localhost:8080" },
    unit: { type: "string" },
    code: { type: "string" },
    plate: { type: "string", default: "80" },
    weight: { type: "string", default: "20" },
    rows: { type: "string", default: "10" },
    columns: { type: "string", default: "10" },
    pitch: { type: "string", default: "42" },
    "dead-column": { type: "string" },
    pictures: { type: "string", default: "4" },
    "start-at": { type: "string", default: "0" },
    "boots-before": { type: "string", default: String(Math.floor(Date.now() / minute)) },
    seed: { type: "string", default: "one" },
    help: { type: "boolean", short: "h", default: false },
  },
});

async function main(): Promise<number> {
  const { unit, code } = values;
  if (values.help || unit === undefined || code === undefined) {
    console.log(help);
    return values.help ? 0 : 2;
  }
  const read = existsSync(code) ? await readPairingPicture(readFileSync(code, "utf8")) : code;
  if (read === null) {
    console.error(`No pairing code can be made out in ${code}.`);
    return 1;
  }
  const outcome = await enrol(values.server, unit, read, await makeUnitKey(unit));
  if (outcome.kind === "refused") {
    console.error(`Refused (${outcome.refusal.refused}): ${outcome.refusal.message}`);
    return 1;
  }
  await work(new Delivery(benched(unit), outcome.enrolled, Date.now));
  return 0;
}

const gridModel = () => ({
  rows: Number(values.rows),
  columns: Number(values.columns),
  pitchMillimetres: Number(values.pitch),
});

function benched(serial: string): BenchedCushion {
  const column = values["dead-column"];
  const faults: Fault[] =
    column === undefined ? [] : [{ kind: "column-open", from: 0, column: Number(column) }];
  const spec = {
    serial,
    firmware: "2.4.1",
    hardware: "C",
    grid: gridModel(),
    battery: { ratedMilliampHours: 1_200, health: 0.97, charge: 0.8 },
    storeLimit: 6_000,
    clockDriftPartsPerMillion: 12,
    faults,
    radio: { signal: { mean: -55, deviation: 2 }, outages: [] },
  };
  return new BenchedCushion(spec, values.seed, Date.now(), Number(values["boots-before"]));
}

/** Goes through the plan as pictures are asked for, until Ctrl-C. */
async function work(delivery: Delivery<BenchedCushion>): Promise<void> {
  const rig = new Rig(delivery, {
    plate: Number(values.plate),
    weight: Number(values.weight),
    pictures: Number(values.pictures),
    startAt: Number(values["start-at"]),
  });
  let stopped = false;
  process.once("SIGINT", () => {
    stopped = true;
  });
  while (!stopped) {
    const words = rig.turn(Date.now());
    if (words !== null) console.log(`On the rig: ${words}.`);
    const report = await delivery.deliver(Date.now(), 5);
    if (report.problem !== null) console.error(`Not delivered yet: ${report.problem}`);
    await new Promise((resolve) => setTimeout(resolve, second / 4));
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
