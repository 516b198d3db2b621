/** The ingest behind a broker in front, in a process of its own so that it can be killed:
 *  `front-process.ts <data folder> <port>`. Prints a line once it hears the units. */
import { setTimeout as wait } from "node:timers/promises";
import pino from "pino";
import { systemChance } from "../../server/chance.ts";
import { systemClock } from "../../server/clock.ts";
import { consoleName, openAuthority } from "../../server/enrolment/authority.ts";
import { subscribeToFront } from "../../server/ingest/front-subscriber.ts";
import { createLiveEvents } from "../../server/live.ts";
import { openDatabase } from "../../server/store/database.ts";
import { createTelemetryStore } from "../../server/store/telemetry.ts";
import { testZone } from "../support/cast.ts";

const [dataFolder, port] = process.argv.slice(2);
if (dataFolder === undefined || port === undefined) throw new Error("which data folder, and which port?");

const database = openDatabase(dataFolder);
const authority = await openAuthority({ dataFolder, clock: systemClock, brokerHosts: [] });
const front = subscribeToFront({
  services: {
    clock: systemClock,
    chance: systemChance,
    zone: testZone,
    db: database.db,
    telemetry: createTelemetryStore(database),
    live: createLiveEvents(),
    log: pino({ level: "silent" }),
  },
  host: "127.0.0.1",
  port: Number(port),
  credentials: { ...authority.console, authority: authority.rootPem },
  name: consoleName,
  onCommitted: () => {},
});
while (!front.isReachable()) await wait(10);
process.stdout.write("hears\n");
