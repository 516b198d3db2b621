import { fork } from "node:child_process";
import { once } from "node:events";
import { join } from "node:path";
import { afterEach, expect, it } from "vitest";
import { benchUnit } from "../../scripts/bench/ingest/life.ts";
import { type BenchServer, startServer } from "../../scripts/bench/ingest/processes.ts";
import { type ProgrammeFolder, programmeFolder } from "../../scripts/bench/ingest/programme-folder.ts";
import { instant } from "../../server/domain/units.ts";
import { openDatabase } from "../../server/store/database.ts";
import { createTelemetryStore } from "../../server/store/telemetry.ts";

/** `npm run faults` asks for the whole size, `npm test` for enough of it to go red. */
const connections = process.env.FAULTS === "whole" ? 5_000 : 300;
const everything = { start: instant(0), end: instant(4_102_444_800_000) };

let folder: ProgrammeFolder;
let server: BenchServer;
let stopUnits = async (): Promise<void> => {};

afterEach(async () => {
  await stopUnits();
  folder.remove();
});

async function connectedUnits() {
  const script = join(import.meta.dirname, "many-units-process.ts");
  const args = [String(server.mqttPort), folder.credentialsFile];
  const child = fork(script, args, { execArgv: ["--import", "tsx"] });
  stopUnits = async () => {
    if (child.exitCode !== null || child.signalCode !== null) return;
    const gone = once(child, "exit");
    child.kill("SIGKILL");
    await gone;
  };
  const ended = once(child, "exit").then(([code]) =>
    Promise.reject(new Error(`the units ended with ${code}`)),
  );
  ended.catch(() => {});
  const heard = async (): Promise<unknown> => (await Promise.race([once(child, "message"), ended]))[0];
  const connected = await heard();
  return {
    connected,
    tellAll: () => {
      const answered = heard();
      child.send("tell");
      return answered;
    },
  };
}

it(`${connections.toLocaleString("en")} units connected at once are each answered when all send at once, and all is stored`, {
  timeout: 300_000,
}, async () => {
  folder = await programmeFolder(connections);
  server = await startServer(folder.dataFolder, "own-thread");
  try {
    const units = await connectedUnits();
    expect([units.connected, (await server.figures()).connected]).toEqual([connections, connections]);
    expect(await units.tellAll()).toEqual({
      acknowledged: connections,
      receipted: connections,
      dropped: 0,
    });
    const { counters, connected } = await server.figures();
    expect(connected).toBe(connections);
    expect(counters).toMatchObject({
      received: connections,
      stored: connections,
      duplicates: 0,
      keptAside: 0,
      noRoom: 0,
      failedCommits: 0,
      refusedConnections: 0,
    });
  } finally {
    await stopUnits();
    await server.stop();
  }
  expect(await unitsOnRecord()).toBe(connections);
});

/** By the file itself: how many of them have the one minute that they sent. */
async function unitsOnRecord(): Promise<number> {
  const database = openDatabase(folder.dataFolder);
  const telemetry = createTelemetryStore(database);
  let found = 0;
  for (let number = 0; number < connections; number++) {
    const { minutes } = await telemetry.read(benchUnit(number), everything);
    if (minutes.length === 1) found += 1;
  }
  database.close();
  return found;
}
