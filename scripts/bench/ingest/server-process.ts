/** The server side of the bench, in a process of its own: `server-process.ts <data folder> <way of storing>`. The real
 *  broker and the real pages; reviews are not run, their mark is set once a second, so that it is the ingest that is
 *  measured. Answers "figures" and "quit" from its parent. */
import { setInterval as every } from "node:timers";
import pino from "pino";
import { systemChance } from "../../../server/chance.ts";
import { systemClock } from "../../../server/clock.ts";
import { zoneName } from "../../../server/domain/time/local-day.ts";
import { openEnrolment } from "../../../server/enrolment/enrolment.ts";
import { createApp } from "../../../server/http/app.ts";
import { listen } from "../../../server/http/listen.ts";
import { startBroker } from "../../../server/ingest/broker.ts";
import { createLiveEvents } from "../../../server/live.ts";
import { allRoutes } from "../../../server/routes.ts";
import type { Services } from "../../../server/services.ts";
import { openDatabase } from "../../../server/store/database.ts";
import { createTelemetryStore } from "../../../server/store/telemetry.ts";
import type { TelemetryStore } from "../../../server/store/telemetry-port.ts";
import { openTelemetryThread } from "../../../server/store/telemetry-thread.ts";

export type WayOfStoring = "nothing" | "same-thread" | "own-thread";

export interface ServerFigures {
  readonly counters: ReturnType<Awaited<ReturnType<typeof startBroker>>["counters"]>;
  readonly connected: number;
  readonly cpuMicroseconds: number;
  readonly rssBytes: number;
  readonly metrics: string;
}

const [dataFolder = "", way = "same-thread"] = process.argv.slice(2);
const zone = zoneName("Europe/London");
if (zone === null) throw new Error("no such zone");
const database = openDatabase(dataFolder);
const storing = await storeFor(way);
const services: Services = {
  clock: systemClock,
  chance: systemChance,
  zone,
  db: database.db,
  telemetry: storing.telemetry,
  live: createLiveEvents(),
  log: pino({ level: "silent" }),
};
const enrolment = await openEnrolment(
  { clock: systemClock, chance: systemChance },
  { dataFolder, broker: { host: "127.0.0.1", port: 0 } },
);
const broker = await startBroker({
  services,
  credentials: { ...enrolment.authority.broker, authority: enrolment.authority.rootPem },
  port: 0,
  host: "127.0.0.1",
  onCommitted: () => {},
});
const options = { baseUrl: "http://localhost", cast: [], invented: false };
const ready = () => true;
const app = createApp(
  services,
  allRoutes({
    services,
    enrolment,
    options,
    loadLog: async () => ({ kind: "refused", sentence: "No log was given." }) as const,
    readiness: { database: ready, broker: ready, authority: ready },
    stopping: new AbortController().signal,
  }),
  options,
);
const console = await listen(() => app, 0);

const mark = database.driver.prepare(
  `insert into review_mark (unit_serial, through_message, reviewed_at) values (?, ?, 0)
   on conflict (unit_serial) do update set through_message = excluded.through_message`,
);
const markAll = database.driver.transaction((units: Awaited<ReturnType<TelemetryStore["unreviewed"]>>) => {
  for (const { unit, throughMessage } of units) mark.run(unit, throughMessage);
});
const marking = every(() => {
  services.telemetry.unreviewed().then(
    (units) => markAll.immediate(units),
    () => {},
  );
}, 1_000);

process.on("message", (wanted: "figures" | "quit") => {
  if (wanted === "quit") void quit();
  else process.send?.(figures());
});
// Without its parent it has nothing to do.
process.on("disconnect", () => process.exit(1));
process.send?.({ mqttPort: broker.port, httpPort: console.port });

function figures(): ServerFigures {
  const cpu = process.cpuUsage();
  return {
    counters: broker.counters(),
    connected: broker.connectedUnits().length,
    cpuMicroseconds: cpu.user + cpu.system,
    rssBytes: process.memoryUsage.rss(),
    metrics: broker.metrics(),
  };
}

async function quit(): Promise<void> {
  clearInterval(marking);
  await broker.stop();
  await console.close();
  await storing.close();
  database.close();
  process.exit(0);
}

async function storeFor(wanted: string): Promise<{ telemetry: TelemetryStore; close(): Promise<void> }> {
  if (wanted === "own-thread") return openTelemetryThread(database, dataFolder);
  const telemetry = createTelemetryStore(database);
  const close = async () => {};
  return wanted === "nothing" ? { telemetry: storingNothing(telemetry), close } : { telemetry, close };
}

/** Answers as if it had stored: the same acknowledgements and receipts go out, so that storing is all that differs. */
function storingNothing(real: TelemetryStore): TelemetryStore {
  return {
    ...real,
    tidy: async () => false,
    append: async (batch) => ({
      stored: batch.length,
      duplicates: 0,
      keptAside: 0,
      receipts: new Map(batch.map(({ unit }) => [unit, [{ boot: 1, through: 1, holes: [] }]])),
    }),
  };
}
