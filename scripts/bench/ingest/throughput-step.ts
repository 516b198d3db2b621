import { cpSync } from "node:fs";
import { atLeast, figure, median, type Row } from "../result.ts";
import { bareInsert } from "./bare-insert.ts";
import { liveReport } from "./live-reports.ts";
import type { LoadAnswer } from "./load-process.ts";
import type { BenchOptions } from "./options.ts";
import { startLoad, startServer } from "./processes.ts";
import { type ProgrammeFolder, programmeFolder } from "./programme-folder.ts";
import type { WayOfStoring } from "./server-process.ts";

interface Measured extends LoadAnswer {
  readonly cpuMicrosecondsEach: number;
  readonly perCommit: number;
}

const allWays = ["nothing", "same-thread", "own-thread"] as const;
const inFlight = 16;
const warmUps = 3;

/** Messages a second from connections that never pause, against the same broker storing nothing, in turns. */
export async function benchThroughput({ quick, say }: BenchOptions): Promise<Row[]> {
  const units = quick ? 150 : 500;
  const messages = quick ? 40_000 : 120_000;
  const rounds = quick ? 1 : 3;
  say(`throughput: ${units} units over TLS, ${inFlight} messages on the way each, ${rounds} rounds`);
  const ways: readonly WayOfStoring[] = quick ? ["nothing", "own-thread"] : allWays;
  const folder = await programmeFolder(units);
  try {
    const measured: Record<WayOfStoring, Measured[]> = { nothing: [], "same-thread": [], "own-thread": [] };
    for (let round = 0; round < rounds; round++)
      // There and back, so that none always comes first.
      for (const way of round % 2 === 0 ? ways : ways.toReversed())
        measured[way].push(await once(folder, { way, units, messages, round }));
    return [...rowsOf(measured), ...floorRows(measured["own-thread"])];
  } finally {
    folder.remove();
  }
}

async function once(
  folder: ProgrammeFolder,
  { way, units, messages, round }: { way: WayOfStoring; units: number; messages: number; round: number },
): Promise<Measured> {
  const dataFolder = `${folder.dataFolder}-${way}-${round}`;
  cpSync(folder.dataFolder, dataFolder, { recursive: true });
  const server = await startServer(dataFolder, way);
  const load = startLoad();
  await load.connect(server.mqttPort, folder.credentialsFile, units);
  // Until the code is warm: a service runs for months.
  for (let time = 0; time < warmUps; time++)
    await load.run({ do: "saturate", messages: messages / 2, inFlight, shape: liveReport });
  const before = await server.figures();
  const answer = await load.run({ do: "saturate", messages, inFlight, shape: liveReport });
  const after = await server.figures();
  await load.stop();
  await server.stop();
  const commits = after.counters.commits - before.counters.commits;
  return {
    ...answer,
    cpuMicrosecondsEach: (after.cpuMicroseconds - before.cpuMicroseconds) / answer.messages,
    perCommit: answer.messages / Math.max(1, commits),
  };
}

const rate = ({ messages, seconds }: LoadAnswer): number => messages / seconds;

function rowsOf(measured: Record<WayOfStoring, Measured[]>): Row[] {
  const { nothing } = measured;
  const ratios = (way: WayOfStoring): number[] =>
    measured[way].map((each, round) => rate(each) / rate(nothing[round] ?? each));
  const of = (way: WayOfStoring, what: string, value: (each: Measured) => number, unit: string): Row =>
    figure(`${what}, storing ${names[way]}`, median(measured[way].map(value)), unit);
  const ways = allWays.filter((way) => measured[way].length > 0);
  return [
    ...ways.map((way) => of(way, "messages a second end to end", rate, "/s")),
    ...ways.map((way) => of(way, "acknowledged p50 under full load", ({ p50 }) => p50, "ms")),
    ...ways.map((way) => of(way, "acknowledged p99 under full load", ({ p99 }) => p99, "ms")),
    ...ways.map((way) => of(way, "server CPU a message", (each) => each.cpuMicrosecondsEach, "µs")),
    ...ways.map((way) => of(way, "messages in a commit", ({ perCommit }) => perCommit, "")),
    ...(measured["same-thread"].length === 0
      ? []
      : [figure("throughput of one thread against storing nothing", median(ratios("same-thread")), "")]),
    atLeast(
      "durable throughput against the same broker storing nothing",
      median(ratios("own-thread")),
      "",
      0.7,
    ),
  ];
}

const names: Record<WayOfStoring, string> = {
  nothing: "nothing",
  "same-thread": "in the broker's thread",
  "own-thread": "in a thread of its own",
};

/** The bare insert of the same bytes in groups of the same size. */
function floorRows(measured: readonly Measured[]): Row[] {
  const size = Math.max(1, Math.round(median(measured.map(({ perCommit }) => perCommit))));
  const bytes = Math.round(median(measured.map(({ payloadBytes }) => payloadBytes)));
  const floor = bareInsert({ size, bytes });
  return [
    figure(`bare SQLite insert of the same bytes, ${size} a commit`, floor, "/s"),
    figure("durable throughput against the bare insert", median(measured.map(rate)) / floor, ""),
  ];
}
