import { readFileSync } from "node:fs";
import { systemChance } from "../server/chance.ts";
import { systemClock } from "../server/clock.ts";
import { readConfig } from "../server/config.ts";
import { loadLog } from "../server/ingest/load-log.ts";
import { createLiveEvents } from "../server/live.ts";
import { createLog } from "../server/log.ts";
import { openDatabase } from "../server/store/database.ts";
import { createTelemetryStore } from "../server/store/telemetry.ts";

/** `npm run load-log -- FILE...`: loads logs read off units over a cable into DATA_DIR, with the service stopped. While it
 *  runs, the page of the unit takes them. What is new is reviewed at the next start. */
async function main(files: readonly string[]): Promise<number> {
  const read = readConfig(process.env);
  if (!read.ok || files.length === 0) {
    console.error(read.ok ? "Name the log files to load: npm run load-log -- FILE..." : read.message);
    return 2;
  }
  const database = openDatabase(read.config.dataFolder);
  const services = {
    clock: systemClock,
    chance: systemChance,
    zone: read.config.zone,
    db: database.db,
    telemetry: createTelemetryStore(database),
    live: createLiveEvents(),
    log: createLog(),
  };
  let refusals = 0;
  for (const file of files) {
    const outcome = await loadLog(services, readFileSync(file), { actor: { kind: "system" }, unit: null });
    if (outcome.kind === "refused") {
      refusals += 1;
      console.error(`${file}: ${outcome.sentence}`);
      continue;
    }
    const { unit, stored, alreadyHad, keptAside, faults } = outcome;
    console.log(`${file}: ${unit}, ${stored} stored, ${alreadyHad} already here, ${keptAside} kept aside`);
    for (const { number, byte, what } of faults) console.log(`  record ${number}, at byte ${byte}: ${what}`);
  }
  database.close();
  return refusals === 0 ? 0 : 1;
}

main(process.argv.slice(2)).then(
  (code) => process.exit(code),
  (problem: unknown) => {
    console.error(problem instanceof Error ? problem.message : String(problem));
    process.exit(1);
  },
);
