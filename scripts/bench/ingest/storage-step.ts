import type { UplinkMessage } from "../../../firmware-protocol/src/messages.ts";
import { loanId } from "../../../server/domain/ids.ts";
import { buildLedger } from "../../../server/domain/ledger/build-ledger.ts";
import { daysTouched, type ZoneName, zoneName } from "../../../server/domain/time/local-day.ts";
import { instant, type Span } from "../../../server/domain/units.ts";
import { createTelemetryStore } from "../../../server/store/telemetry.ts";
import type { IncomingMessage } from "../../../server/store/telemetry-port.ts";
import { atMost, figure, median, type Row } from "../result.ts";
import { arriving, benchUnit, lifeStarts, livedBy, retold } from "./life.ts";
import type { BenchOptions } from "./options.ts";
import { type StorageRig, storageRig } from "./storage-rig.ts";

const day = 86_400_000;
const month = 30;

/** Bytes on disk, and how long one unit's month and year take to read and lay out as a ledger. */
export async function benchStorage({ quick, seed, say }: BenchOptions): Promise<Row[]> {
  const units = quick ? 2 : 20;
  const months = quick ? 2 : 12;
  say(`storage: ${units} units for ${month} days, one of them for ${months * month}`);
  const rig = await storageRig();
  try {
    const empty = rig.bytesOnDisk();
    const lives = Array.from({ length: units }, (_, person) => livedBy(person, month, seed));
    const rows = await bytesPerMinute(rig, lives, empty, seed);
    const [first = []] = lives;
    rows.push(...(await readTimes(rig, "30 days", month)));
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
  const all = lives
    .flatMap((life, person) => arriving(life, bootedAt, `${seed}/${person}`))
    .sort((a, b) => a.receivedAt - b.receivedAt);
  const recorded = lives
    .flat()
    .reduce((sum, each) => sum + (each.kind === "minutes" ? each.minutes.length : 0), 0);
  const started = process.cpuUsage();
  await rig.play(all);
  const cpu = process.cpuUsage(started);
  const bytes = rig.bytesOnDisk() - empty;
  const wire = all.reduce((sum, { payload }) => sum + payload.length, 0);
  return [
    atMost("bytes on disk per recorded minute, everything included", bytes / recorded, "B", 12),
    figure("bytes on the wire per recorded minute", wire / recorded, "B"),
    figure("bytes on disk per unit-day", bytes / lives.length / month, "B"),
    figure("CPU to store, review-mark and pack a message", (cpu.user + cpu.system) / all.length, "µs"),
  ];
}

async function readTimes(rig: StorageRig, what: string, days: number): Promise<Row[]> {
  const span: Span = { start: lifeStarts, end: instant(lifeStarts + days * day) };
  const readOnly: number[] = [];
  const withLedger: number[] = [];
  const window = { loan: loanId("loan_bench"), start: lifeStarts, end: null };
  for (let round = 0; round < 9; round++) {
    // A store that has opened no block yet, so that each round reads and unpacks them all.
    const telemetry = createTelemetryStore(rig.database);
    const began = performance.now();
    const record = await telemetry.read(benchUnit(0), span);
    readOnly.push(performance.now() - began);
    const ledger = buildLedger({ window, record, now: span.end, zone }, daysTouched(span, zone));
    withLedger.push(performance.now() - began);
    if (ledger.length < days || record.minutes.length < days * 1_300)
      throw new Error("the record isn't all there");
  }
  const ledgerName = `one unit's ${what} read and laid out as a ledger (median of 9)`;
  const ledgerTime = median(withLedger);
  return [
    figure(`one unit's ${what} read (median of 9)`, median(readOnly), "ms"),
    figure(`one unit's ${what} read for the first time`, readOnly[0] ?? Number.NaN, "ms"),
    days === month ? atMost(ledgerName, ledgerTime, "ms", 20) : figure(ledgerName, ledgerTime, "ms"),
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
