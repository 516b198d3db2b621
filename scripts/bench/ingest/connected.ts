import { cpSync } from "node:fs";
import { liveReport } from "./live-reports.ts";
import { type BenchLoad, type BenchServer, startLoad, startServer } from "./processes.ts";
import type { ProgrammeFolder } from "./programme-folder.ts";
import type { WayOfStoring } from "./server-process.ts";

export interface Connected {
  readonly server: BenchServer;
  readonly load: BenchLoad;
  /** From the first handshake to the last subscription. */
  readonly connectingSeconds: number;
  /** Of the server, before anybody was connected and when all were. */
  readonly rssBefore: number;
  readonly rssAfter: number;
}

/** Runs something against a server of its own, with this many units connected and its code warm, and ends both. */
export async function withConnected<Result>(
  folder: ProgrammeFolder,
  { way, units }: { readonly way: WayOfStoring; readonly units: number },
  run: (connected: Connected) => Promise<Result>,
): Promise<Result> {
  const dataFolder = `${folder.dataFolder}-${way}-${units}`;
  cpSync(folder.dataFolder, dataFolder, { recursive: true });
  const server = await startServer(dataFolder, way);
  const load = startLoad();
  try {
    const { rssBytes: rssBefore } = await server.figures();
    const { seconds } = await load.connect(server.mqttPort, folder.credentialsFile, units);
    const { rssBytes: rssAfter } = await server.figures();
    const all = { fromUnit: 0, toUnit: units };
    await load.run({ do: "steady", perSecond: 1_000, seconds: 4, shape: liveReport, ...all });
    return await run({ server, load, connectingSeconds: seconds, rssBefore, rssAfter });
  } finally {
    await load.stop();
    await server.stop();
  }
}
