/** `one-more-day-process.ts <data folder> <units> <now>`: processor seconds of bringing them all up to date once, as JSON,
 *  a number for each of several copies of the folder. In a process of its own, which holds nothing but what a service
 *  holds: what lived the lives keeps them all, and clearing up around them would be counted in. */
import { cpSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { instant } from "../../../server/domain/units.ts";
import { type Assessing, assessedTogether, assessUnits } from "../../../server/programme/assess-units.ts";
import { openDatabase } from "../../../server/store/database.ts";
import { benchUnit } from "../ingest/life.ts";
import { servicesAt } from "./services-at.ts";

/** Processor seconds of all units together, one for each copy that counts. */
export type SecondsSpent = readonly number[];

/** Each copy is the same day again, as new to the process as the first: the first ones warm the machine up, as the first
 *  hundred of ten thousand units do. */
const warmUpUnits = 100;
const counted = 5;

const [folder = "", units = "", now = ""] = process.argv.slice(2);
const serials = Array.from({ length: Number(units) }, (_, unit) => benchUnit(unit));
const asInARound: Assessing = {
  goOn: async () => true,
  failed: (_, error) => {
    throw error;
  },
};
const warmUps = Math.ceil(warmUpUnits / Number(units));
const spent: number[] = [];
for (let copy = 0; copy < warmUps + counted; copy++) spent.push(await once());
console.log(JSON.stringify(spent.slice(warmUps)));

async function once(): Promise<number> {
  const own = mkdtempSync(join(tmpdir(), "bench-day-"));
  cpSync(folder, own, { recursive: true });
  const database = openDatabase(own, { again: true });
  try {
    const services = servicesAt(database, () => instant(Number(now)));
    const begun = process.cpuUsage();
    for (let next = 0; next < serials.length; next += assessedTogether)
      await assessUnits(services, serials.slice(next, next + assessedTogether), asInARound);
    const { user, system } = process.cpuUsage(begun);
    return (user + system) / 1e6;
  } finally {
    database.close();
    rmSync(own, { recursive: true, force: true });
  }
}
