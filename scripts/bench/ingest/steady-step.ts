import { cpSync } from "node:fs";
import { setTimeout as wait } from "node:timers/promises";
import { atLeast, atMost, figure, type Row } from "../result.ts";
import type { BenchOptions } from "./options.ts";
import { askingForPages, type PageTimes } from "./pages.ts";
import { type BenchLoad, type BenchServer, startLoad, startServer } from "./processes.ts";
import { type ProgrammeFolder, programmeFolder } from "./programme-folder.ts";
import type { WayOfStoring } from "./server-process.ts";

const page = "/stores/loans";
const perSecond = 1_700;

/** 100,000 units' once-a-minute reports over 5,000 connections while pages are served; then those units come back from
 *  a day without a network. */
export async function benchSteady({ quick, say }: BenchOptions): Promise<Row[]> {
  const units = quick ? 300 : 5_000;
  const seconds = quick ? 4 : 20;
  say(`steady load: ${units} units over TLS, ${perSecond} messages a second for ${seconds} s, pages beside`);
  const folder = await programmeFolder(units);
  try {
    const rows: Row[] = [];
    const ways = quick ? (["own-thread"] as const) : (["same-thread", "own-thread"] as const);
    for (const way of ways) rows.push(...(await oneWay(folder, { way, units, seconds, quick })));
    return rows;
  } finally {
    folder.remove();
  }
}

interface Steady {
  readonly way: WayOfStoring;
  readonly units: number;
  readonly seconds: number;
  readonly quick: boolean;
}

async function oneWay(folder: ProgrammeFolder, steady: Steady): Promise<Row[]> {
  const { way, units, seconds } = steady;
  const dataFolder = `${folder.dataFolder}-${way}`;
  cpSync(folder.dataFolder, dataFolder, { recursive: true });
  const server = await startServer(dataFolder, way);
  const load = startLoad();
  try {
    const { seconds: connecting } = await load.connect(server.mqttPort, folder.credentialsFile, units);
    await warmUp(server, folder, load, units);
    const idle = await whileAsking(server, folder, () => wait(Math.min(seconds, 8) * 1_000));
    const before = await server.figures();
    let answer = null;
    const busy = await whileAsking(server, folder, async () => {
      const shape = { minutesEach: 1, writtenAgoSeconds: 0 };
      answer = await load.run({ do: "steady", perSecond, seconds, shape, fromUnit: 0, toUnit: units });
    });
    const after = await server.figures();
    if (answer === null) throw new Error("the load gave no answer");
    const cpu = (after.cpuMicroseconds - before.cpuMicroseconds) / 1e6;
    const rows = rowsOf(way, { answer, idle, busy, connecting, cpu, after, steady });
    return way === "own-thread" ? [...rows, ...(await outage(server, load, units))] : rows;
  } finally {
    await load.stop();
    await server.stop();
  }
}

async function warmUp(server: BenchServer, folder: ProgrammeFolder, load: BenchLoad, units: number) {
  const shape = { minutesEach: 1, writtenAgoSeconds: 0 };
  await whileAsking(server, folder, async () => {
    await load.run({ do: "steady", perSecond: 500, seconds: 3, shape, fromUnit: 0, toUnit: units });
  });
}

async function whileAsking(
  server: BenchServer,
  { cookie }: ProgrammeFolder,
  meanwhile: () => Promise<unknown>,
): Promise<PageTimes> {
  const done = askingForPages(server.httpPort, page, cookie);
  await meanwhile();
  return await done();
}

interface Seen {
  readonly answer: { messages: number; seconds: number; p50: number; p99: number; dropped: number };
  readonly idle: PageTimes;
  readonly busy: PageTimes;
  readonly connecting: number;
  readonly cpu: number;
  readonly after: { rssBytes: number; connected: number };
  readonly steady: Steady;
}

function rowsOf(way: WayOfStoring, seen: Seen): Row[] {
  const { answer, idle, busy, steady } = seen;
  const asked = perSecond * steady.seconds;
  const ratio = busy.p95 / idle.p95;
  if (way === "same-thread")
    return [
      figure("page p95 at the steady load, one thread", busy.p95, "ms"),
      figure("page p95 against idle, one thread", ratio, "times"),
      figure("acknowledged p99 at the steady load, one thread", answer.p99, "ms"),
      figure("server CPU at the steady load, one thread", seen.cpu / answer.seconds, "cores"),
    ];
  const memory = seen.after.rssBytes / 2 ** 20;
  const memoryName = `memory of the server with ${seen.after.connected} connected units`;
  return [
    figure("connecting all units", seen.connecting, "s"),
    atLeast("messages acknowledged of those sent at the steady load", answer.messages / asked, "", 1),
    figure("acknowledged p50 at the steady load", answer.p50, "ms"),
    atMost("acknowledged p99 at the steady load", answer.p99, "ms", 100),
    figure("server CPU at the steady load", seen.cpu / answer.seconds, "cores"),
    figure("page p95, idle", idle.p95, "ms"),
    atMost("page p95 at the steady load", busy.p95, "ms", 100),
    atMost("page p95 at the steady load against idle", ratio, "times", 2),
    steady.quick ? figure(memoryName, memory, "MB") : atMost(memoryName, memory, "MB", 600),
  ];
}

/** What a unit keeps of a day: hourly reports of 60 minutes, and about as many messages again of other kinds. */
const keptOfADay = 48;

async function outage(server: BenchServer, load: BenchLoad, units: number): Promise<Row[]> {
  const catchingUp = Math.floor(units * 0.9);
  const before = await server.figures();
  const backlog = await load.catchUp({
    do: "catch-up",
    each: keptOfADay,
    inFlight: 16,
    shape: { minutesEach: 30, writtenAgoSeconds: 86_400 },
    units: catchingUp,
    livePerSecond: 50,
  });
  const after = await server.figures();
  const stored = after.counters.stored - before.counters.stored;
  const scaled = (backlog.seconds * 5_000) / catchingUp;
  return [
    figure(
      `catching up 24 h of ${catchingUp} units, ${keptOfADay} messages of 30 minutes each`,
      backlog.seconds,
      "s",
    ),
    atMost("catching up a 24 h outage of 5,000 units (from the line above)", scaled, "s", 300),
    figure("messages a second while catching up", stored / backlog.seconds, "/s"),
    atMost("live data late at most, meanwhile", backlog.live.longest / 1_000, "s", 2),
    atMost("connections dropped", backlog.dropped, "", 0),
  ];
}
