import { setTimeout as wait } from "node:timers/promises";
import { atLeast, atMost, figure, type Row } from "../result.ts";
import { type Connected, withConnected } from "./connected.ts";
import { liveReport, steadyPerSecond } from "./live-reports.ts";
import type { LoadAnswer } from "./load-process.ts";
import type { BenchOptions } from "./options.ts";
import { askingForPages, type PageTimes } from "./pages.ts";
import type { BenchServer } from "./processes.ts";
import { type ProgrammeFolder, programmeFolder } from "./programme-folder.ts";

const page = "/stores/loans";

/** 100,000 units' once-a-minute reports over 5,000 connections while pages are served: with the writer in its own
 *  thread, as the service has it, and in the broker's for comparison. */
export async function benchSteady({ quick, say }: BenchOptions): Promise<Row[]> {
  const units = quick ? 300 : 5_000;
  const seconds = quick ? 4 : 20;
  say(
    `steady load: ${units} units over TLS, ${steadyPerSecond} messages a second for ${seconds} s, pages beside`,
  );
  const folder = await programmeFolder(units);
  const steady = { units, seconds, quick };
  try {
    const own = await withConnected(folder, { way: "own-thread", units }, (on) => seenOn(on, folder, steady));
    const rows = rowsOf(own, steady);
    if (quick) return rows;
    const same = await withConnected(folder, { way: "same-thread", units }, (on) =>
      seenOn(on, folder, steady),
    );
    return [...rows, ...rowsOfOneThread(same)];
  } finally {
    folder.remove();
  }
}

interface Steady {
  readonly units: number;
  readonly seconds: number;
  readonly quick: boolean;
}

interface Seen {
  readonly answer: LoadAnswer;
  readonly idle: PageTimes;
  readonly busy: PageTimes;
  readonly connecting: number;
  readonly cores: number;
  readonly rssBytes: number;
  readonly connected: number;
}

async function seenOn(on: Connected, folder: ProgrammeFolder, steady: Steady): Promise<Seen> {
  const { units, seconds, quick } = steady;
  const { server, load, connectingSeconds } = on;
  // Pages are warm too before the idle ones are timed.
  await whileAsking(server, folder, () => wait(quick ? 1_500 : 3_000));
  const { times: idle } = await whileAsking(server, folder, () => wait(Math.min(seconds, 8) * 1_000));
  const before = await server.figures();
  const command = { do: "steady", perSecond: steadyPerSecond, seconds, shape: liveReport } as const;
  const { times: busy, result: answer } = await whileAsking(server, folder, () =>
    load.run({ ...command, fromUnit: 0, toUnit: units }),
  );
  const after = await server.figures();
  const cores = (after.cpuMicroseconds - before.cpuMicroseconds) / 1e6 / answer.seconds;
  const { rssBytes, connected } = after;
  return { answer, idle, busy, connecting: connectingSeconds, cores, rssBytes, connected };
}

async function whileAsking<Result>(
  server: BenchServer,
  { cookie }: ProgrammeFolder,
  meanwhile: () => Promise<Result>,
): Promise<{ times: PageTimes; result: Result }> {
  const done = askingForPages(server.httpPort, page, cookie);
  const result = await meanwhile();
  return { times: await done(), result };
}

function rowsOf({ answer, idle, busy, connecting, cores, rssBytes, connected }: Seen, steady: Steady): Row[] {
  const asked = steadyPerSecond * steady.seconds;
  const memory = rssBytes / 2 ** 20;
  const memoryName = `memory of the server with ${connected} connected units, at the steady load`;
  return [
    figure("connecting all units", connecting, "s"),
    figure("messages a second sent at the steady load", asked / answer.seconds, "/s"),
    atLeast("messages acknowledged of those sent at the steady load", answer.messages / asked, "", 1),
    figure("acknowledged p50 at the steady load", answer.p50, "ms"),
    atMost("acknowledged p99 at the steady load", answer.p99, "ms", 100),
    figure("acknowledged latest at the steady load", answer.longest, "ms"),
    figure("server CPU at the steady load", cores, "cores"),
    figure("page p95, idle", idle.p95, "ms"),
    atMost("page p95 at the steady load", busy.p95, "ms", 100),
    atMost("page p95 at the steady load against idle", busy.p95 / idle.p95, "times", 2),
    // 300 units say nothing of 5,000.
    steady.quick ? figure(memoryName, memory, "MB") : atMost(memoryName, memory, "MB", 600),
  ];
}

const rowsOfOneThread = ({ answer, idle, busy, cores }: Seen): Row[] => [
  figure("page p95 at the steady load, one thread", busy.p95, "ms"),
  figure("page p95 against idle, one thread", busy.p95 / idle.p95, "times"),
  figure("acknowledged p99 at the steady load, one thread", answer.p99, "ms"),
  figure("server CPU at the steady load, one thread", cores, "cores"),
];
