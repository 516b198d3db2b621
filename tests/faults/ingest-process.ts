/** A server with nothing but the ingest, in a process of its own so that it can be killed: `ingest-process.ts <data
 *  folder> [acknowledging-early]`. Prints its port once units may connect. The second argument plants the bug that the
 *  kill test must find: it says "stored" before it is. */
import pino from "pino";
import { systemChance } from "../../server/chance.ts";
import { systemClock } from "../../server/clock.ts";
import { openAuthority } from "../../server/enrolment/authority.ts";
import { startBroker } from "../../server/ingest/broker.ts";
import { createLiveEvents } from "../../server/live.ts";
import { openDatabase } from "../../server/store/database.ts";
import type { TelemetryStore } from "../../server/store/telemetry-port.ts";
import { openTelemetryThread } from "../../server/store/telemetry-thread.ts";
import { testZone } from "../support/cast.ts";

const [dataFolder, planted] = process.argv.slice(2);
if (dataFolder === undefined) throw new Error("which data folder?");

/** Long enough that on a busy machine, too, some acknowledgements fall into it. */
const earlyMilliseconds = 400;

function acknowledgingEarly(real: TelemetryStore): TelemetryStore {
  return {
    ...real,
    append: async (batch) => {
      setTimeout(() => void real.append(batch), earlyMilliseconds);
      return { stored: batch.length, duplicates: 0, keptAside: 0, receipts: new Map() };
    },
  };
}

const database = openDatabase(dataFolder);
// Written by a thread of its own, as in the service.
const { telemetry } = await openTelemetryThread(database, dataFolder);
const authority = await openAuthority({ dataFolder, clock: systemClock, brokerHosts: [] });
const broker = await startBroker({
  services: {
    clock: systemClock,
    chance: systemChance,
    zone: testZone,
    db: database.db,
    telemetry: planted === "acknowledging-early" ? acknowledgingEarly(telemetry) : telemetry,
    live: createLiveEvents(),
    log: pino({ level: "silent" }),
  },
  credentials: { ...authority.broker, authority: authority.rootPem },
  port: 0,
  host: "127.0.0.1",
  onCommitted: () => {},
});
process.stdout.write(`${broker.port}\n`);
