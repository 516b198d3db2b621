import { statSync } from "node:fs";
import { figure, type Row } from "../result.ts";
import { benchUnit, lifeStarts } from "./life.ts";
import type { BenchOptions } from "./options.ts";
import { reportsOf } from "./reports.ts";
import { storageRig } from "./storage-rig.ts";

const batch = 85;

/** What it costs to store a message as the number of units grows: each reports in its turn, 85 messages a commit. */
export async function benchGrowth({ quick, say }: BenchOptions): Promise<Row[]> {
  const messages = quick ? 12_000 : 100_000;
  say(`growth: ${messages} messages of 100, 1,000 and 10,000 units in commits of ${batch}`);
  const rows: Row[] = [];
  for (const units of [100, 1_000, 10_000]) rows.push(...(await withUnits(units, messages)));
  return rows;
}

async function withUnits(units: number, messages: number): Promise<Row[]> {
  const rig = await storageRig();
  try {
    rig.database.driver.pragma("wal_autocheckpoint = 0");
    const reports = reportsOf(
      Array.from({ length: units }, (_, number) => benchUnit(number)),
      messages,
      lifeStarts,
    );
    const walBefore = logBytes(rig.database.driver.name);
    const cpu = process.cpuUsage();
    for (let from = 0; from < reports.length; from += batch)
      await rig.telemetry.append(reports.slice(from, from + batch));
    const used = process.cpuUsage(cpu);
    const written = logBytes(rig.database.driver.name) - walBefore;
    const of = `with ${units.toLocaleString("en")} units`;
    return [
      figure(`CPU to store a message ${of}`, (used.user + used.system) / messages, "µs"),
      figure(`bytes written to the log for a message ${of}`, written / messages, "B"),
    ];
  } finally {
    rig.remove();
  }
}

const logBytes = (file: string): number => statSync(`${file}-wal`, { throwIfNoEntry: false })?.size ?? 0;
