import { execFileSync } from "node:child_process";
import { join } from "node:path";
import type { UplinkMessage } from "../../../firmware-protocol/src/messages.ts";
import type { IncomingMessage } from "../../../server/store/telemetry-port.ts";
import { atMost, figure, median, percentile, type Row } from "../result.ts";
import { arriving, benchUnit, lifeStarts, livedBy, retold } from "./life.ts";
import type { BenchOptions } from "./options.ts";
import type { ReadTimes } from "./read-times-process.ts";
import { type StorageRig, storageRig } from "./storage-rig.ts";

const day = 86_400_000;
const month = 30;

/** Bytes on disk, and how long one unit's month and year take to read and lay out as a ledger. */
export async function benchStorage({ quick, seed, say }: BenchOptions): Promise<Row[]> {
  const units = quick ? 4 : 20;
  const months = quick ? 1 : 12;
  say(`storage: ${units} units for ${month} days, one of them for ${months * month}`);
  const rig = await storageRig();
  try {
    const empty = rig.bytesOnDisk();
    const lives = Array.from({ length: units }, (_, person) => livedBy(person, month, seed));
    const rows = await bytesPerMinute(rig, lives, empty, seed);
    const [first = []] = lives;
    rows.push(...readTimes(rig, "30 days", month));
    if (months === 1) return rows;
    for (let later = 1; later < months; later++) await rig.play(monthLater(first, later, seed));
    return [...rows, ...readTimes(rig, `${months * month} days`, months * month)];
  } finally {
    rig.remove();
  }
}

async function bytesPerMinute(
  rig: StorageRig,
  lives: readonly (readonly UplinkMessage[])[],
  empty: number,
  seed: string,
): Promise<Row[]> {
  const few = Math.min(4, lives.length);
  // With few units first: what waits to be deleted, a run of rows at a time, is shared by all there are.
  const withFew = few === lives.length ? null : await bytesOfLives(lives.slice(0, few), seed);
  const recorded = minutesOf(lives);
  const all = arrivalsOf(lives, seed);
  const started = process.cpuUsage();
  await rig.play(all);
  const cpu = process.cpuUsage(started);
  const bytes = rig.bytesOnDisk() - empty;
  const wire = all.reduce((sum, { payload }) => sum + payload.length, 0);
  return [
    atMost("bytes on disk per recorded minute, everything included", bytes / recorded, "B", 12),
    ...(withFew === null ? [] : [figure(`bytes on disk per recorded minute of ${few} units`, withFew, "B")]),
    figure("of those, in pages that are free", rig.freeBytes() / recorded, "B"),
    figure("bytes on the wire per recorded minute", wire / recorded, "B"),
    figure("bytes on disk per unit-day", bytes / lives.length / month, "B"),
    figure("CPU to store, review-mark and pack a message", (cpu.user + cpu.system) / all.length, "µs"),
  ];
}

const minutesOf = (lives: readonly (readonly UplinkMessage[])[]): number =>
  lives.flat().reduce((sum, each) => sum + (each.kind === "minutes" ? each.minutes.length : 0), 0);

const arrivalsOf = (lives: readonly (readonly UplinkMessage[])[], seed: string): IncomingMessage[] =>
  lives
    .flatMap((life, person) => arriving(life, bootedAt, `${seed}/${person}`))
    .sort((a, b) => a.receivedAt - b.receivedAt);

/** @returns bytes a recorded minute, in a file of their own */
async function bytesOfLives(lives: readonly (readonly UplinkMessage[])[], seed: string): Promise<number> {
  const rig = await storageRig();
  try {
    const empty = rig.bytesOnDisk();
    await rig.play(arrivalsOf(lives, seed));
    return (rig.bytesOnDisk() - empty) / minutesOf(lives);
  } finally {
    rig.remove();
  }
}

/** In a process of its own, which has nothing in memory but what a service has: what wrote the file keeps all the lives
 *  it told of. */
function readTimes(rig: StorageRig, what: string, days: number): Row[] {
  rig.database.driver.pragma("wal_checkpoint(PASSIVE)");
  const script = join(import.meta.dirname, "read-times-process.ts");
  const args = ["--import", "tsx", script, rig.folder, String(days)];
  const { cold, warm, minutes, first }: ReadTimes = JSON.parse(
    execFileSync(process.execPath, args, { encoding: "utf8", stdio: ["ignore", "pipe", "inherit"] }),
  );
  const name = `one unit's ${what} read and laid out as a ledger`;
  const ledger = median(cold.map(({ both }) => both));
  const p95 = percentile(
    cold.map(({ both }) => both),
    0.95,
  );
  const held = (title: string, value: number): Row =>
    days === month ? atMost(title, value, "ms", 20) : figure(title, value, "ms");
  return [
    held(name, ledger),
    held(`${name}, p95`, p95),
    figure(`one unit's ${what} read alone`, median(cold.map(({ read }) => read)), "ms"),
    figure(
      `one unit's ${what} read, each minute by itself`,
      median(minutes.map(({ oneByOne }) => oneByOne)),
      "ms",
    ),
    figure(`${name}, blocks opened before`, median(warm.map(({ both }) => both)), "ms"),
    figure(`${name}, the very first of the process`, first.both, "ms"),
  ];
}

const bootedAt = (): number => lifeStarts / 1_000;

function monthLater(life: readonly UplinkMessage[], months: number, seed: string): IncomingMessage[] {
  const again = { boots: months * 100, later: months * month * day };
  return arriving(
    life.map((message) => retold(message, benchUnit(0), again)),
    bootedAt,
    `${seed}/${months}`,
  );
}
