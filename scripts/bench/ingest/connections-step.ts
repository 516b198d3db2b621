import { figure, type Row } from "../result.ts";
import { withConnected } from "./connected.ts";
import { liveReport, steadyPerSecond } from "./live-reports.ts";
import type { BenchOptions } from "./options.ts";
import { type ProgrammeFolder, programmeFolder } from "./programme-folder.ts";

/** How the same load fares as it comes from more and more units. */
export async function benchConnections({ quick, say }: BenchOptions): Promise<Row[]> {
  const counts = quick ? [100] : [100, 1_000, 10_000];
  say(`connections: ${steadyPerSecond} messages a second from ${counts.join(", ")} units`);
  const folder = await programmeFolder(Math.max(...counts));
  try {
    const rows: Row[] = [];
    for (const units of counts) rows.push(...(await withUnits(folder, units, quick ? 3 : 8)));
    return rows;
  } finally {
    folder.remove();
  }
}

function withUnits(folder: ProgrammeFolder, units: number, seconds: number): Promise<Row[]> {
  const of = `with ${units.toLocaleString("en")} units connected`;
  return withConnected(folder, { way: "own-thread", units }, async (on) => {
    const before = await on.server.figures();
    const command = { do: "steady", perSecond: steadyPerSecond, seconds, shape: liveReport } as const;
    const answer = await on.load.run({ ...command, fromUnit: 0, toUnit: units });
    const after = await on.server.figures();
    const cpu = after.cpuMicroseconds - before.cpuMicroseconds;
    return [
      figure(`a handshake and all that comes with it ${of}`, (on.connectingSeconds / units) * 1_000, "ms"),
      figure(`memory a connection ${of}`, (on.rssAfter - on.rssBefore) / units / 1_024, "kB"),
      figure(`memory of the server ${of}`, after.rssBytes / 2 ** 20, "MB"),
      figure(`acknowledged p99 ${of}`, answer.p99, "ms"),
      figure(`server CPU a message ${of}`, cpu / answer.messages, "µs"),
    ];
  });
}
