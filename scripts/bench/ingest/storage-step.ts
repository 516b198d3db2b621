import type { UplinkMessage } from "../../../firmware-protocol/src/messages.ts";
import { loanId } from "../../../server/domain/ids.ts";
import { buildLedger } from "../../../server/domain/ledger/build-ledger.ts";
import { daysTouched, type ZoneName, zoneName } from "../../../server/domain/time/local-day.ts";
import { instant, type Span } from "../../../server/domain/units.ts";
import { createTelemetryStore } from "../../../server/store/telemetry.ts";
import type { IncomingMessage, TelemetryStore } from "../../../server/store/telemetry-port.ts";
import { atMost, figure, median, percentile, type Row } from "../result.ts";
import { arriving, benchUnit, lifeStarts, livedBy, retold } from "./life.ts";
import type { BenchOptions } from "./options.ts";
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
    rows.push(...(await readTimes(rig, "30 days", month)));
    if (months === 1) return rows;
    for (let later = 1; later < months; later++) await rig.play(monthLater(first, later, seed));
    return [...rows, ...(await readTimes(rig, `${months * month} days`, months * month))];
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

const rounds = 41;

/** Each time with nothing of it opened before: the store is a new one. The first rounds are those of a process that has
 *  just begun; a service runs for months, so it is the later ones that are held against the bar. */
async function readTimes(rig: StorageRig, what: string, days: number): Promise<Row[]> {
  const span: Span = { start: lifeStarts, end: instant(lifeStarts + days * day) };
  const window = { loan: loanId("loan_bench"), start: lifeStarts, end: null };
  const timed = async (telemetry: TelemetryStore): Promise<{ read: number; both: number }> => {
    const began = performance.now();
    const record = await telemetry.read(benchUnit(0), span);
    const read = performance.now() - began;
    const ledger = buildLedger({ window, record, now: span.end, zone }, daysTouched(span, zone));
    const both = performance.now() - began;
    if (ledger.length < days || record.minutes.length < days * 1_300)
      throw new Error("the record isn't all there");
    return { read, both };
  };
  const cold: { read: number; both: number }[] = [];
  for (let round = 0; round < rounds; round++) cold.push(await timed(createTelemetryStore(rig.database)));
  const [first = { read: 0, both: 0 }] = cold;
  const opened = createTelemetryStore(rig.database);
  const warm: { read: number; both: number }[] = [];
  for (let round = 0; round < rounds; round++) warm.push(await timed(opened));
  const ledger = median(cold.map(({ both }) => both));
  const name = `one unit's ${what} read and laid out as a ledger`;
  return [
    days === month ? atMost(name, ledger, "ms", 20) : figure(name, ledger, "ms"),
    figure(`one unit's ${what} read alone`, median(cold.map(({ read }) => read)), "ms"),
    figure(
      `${name}, p95`,
      percentile(
        cold.map(({ both }) => both),
        0.95,
      ),
      "ms",
    ),
    figure(`${name}, blocks opened before`, median(warm.slice(1).map(({ both }) => both)), "ms"),
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

function zoneOf(name: string): ZoneName {
  const zone = zoneName(name);
  if (zone === null) throw new Error(`no such zone: ${name}`);
  return zone;
}
const zone = zoneOf("Europe/London");
