import { execFileSync } from "node:child_process";
import { cpSync } from "node:fs";
import { join } from "node:path";
import { instant } from "../../../server/domain/units.ts";
import { assessUnit } from "../../../server/programme/assess-units.ts";
import { reviewUnit } from "../../../server/programme/review-unit.ts";
import { loan } from "../../../server/store/schema/loans.ts";
import { benchUnit } from "../ingest/life.ts";
import { programmeFolder } from "../ingest/programme-folder.ts";
import { fleetStart } from "./fleet.ts";
import { beforeNext, deliver, inFolder, messagesOf } from "./lived-in-store.ts";
import type { SecondsSpent } from "./one-more-day-process.ts";
import { type BenchOptions, middleOf, type Row, round } from "./rows.ts";

const fleet = 10_000;

/** Two weeks, the four that are judged, and two lengths beyond them. */
const histories = [14, 28, 56, 84];
const quickHistories = [10, 28, 42];
/** From here on the weeks that are judged are full, and a day of history more may cost nothing. */
const full = 28;
/** Of what a day costs, what may come from history: of a unit that is new still, and of one whose weeks are full, where
 *  it is what two measurements of the same may differ by. */
const mayGrow = { young: 1.5, full: 1.15 };

/** Processor time of bringing a unit up to date for one more day, times ten thousand: from the store and back into it, as
 *  the service does, findings and audit included. After several lengths of history: what grows with it would show. */
export async function oneMoreDay({ quick, seed }: BenchOptions): Promise<Row> {
  const units = quick ? 4 : 24;
  const after = await secondsAfter(quick ? quickHistories : histories, units, seed);
  const most = Math.max(...after.values());
  const growth = (from: number): number => {
    const counted = [...after].filter(([days]) => days >= from).map(([, seconds]) => seconds);
    return (counted.at(-1) ?? 0) / (counted[0] ?? 0);
  };
  const told = [...after].map(([days, seconds]) => `${round(seconds, 1)} s after ${days} days`).join(", ");
  return {
    name: "health of 10,000 units brought up to date for one more day, one core",
    value: round(most, 1),
    unit: "s",
    bar: "< 60, cost set by the new day",
    holds: most < 60 && growth(0) < mayGrow.young && growth(full) < mayGrow.full,
    beside: `from ${units} units through the store: ${told}; once four weeks are full it grew to ${round(growth(full), 2)} of itself (bar ${mayGrow.full})`,
  };
}

/** @returns by days of history, shortest first */
async function secondsAfter(
  days: readonly number[],
  units: number,
  seed: number,
): Promise<ReadonlyMap<number, number>> {
  const folder = await programmeFolder(units);
  try {
    const grown = await recordedUntil(folder.dataFolder, { days, units, seed });
    const spent = new Map<number, number[]>();
    // In turn, so that a busy moment of the machine falls on all of them.
    for (let turn = 0; turn < turns; turn++)
      for (const { after, dataFolder } of grown)
        spent.set(after, [...(spent.get(after) ?? []), ...secondsSpent(dataFolder, units, after)]);
    return new Map([...spent].map(([after, seconds]) => [after, (middleOf(seconds) / units) * fleet]));
  } finally {
    folder.remove();
  }
}

const turns = 2;

function secondsSpent(dataFolder: string, units: number, days: number): SecondsSpent {
  const args = ["--import", "tsx", script, dataFolder, String(units), String(beforeNext(days + 1))];
  return JSON.parse(
    execFileSync(process.execPath, args, { encoding: "utf8", stdio: ["ignore", "pipe", "inherit"] }),
  );
}

const script = join(import.meta.dirname, "one-more-day-process.ts");

interface Grown {
  readonly after: number;
  readonly dataFolder: string;
}

interface Lives {
  readonly days: readonly number[];
  readonly units: number;
  readonly seed: number;
}

/** The same units after so many days each, as a service keeps them, told and packed, and one more day that has come and that
 *  nobody has looked at. */
async function recordedUntil(dataFolder: string, { days, units, seed }: Lives): Promise<readonly Grown[]> {
  const serials = Array.from({ length: units }, (_, unit) => benchUnit(unit));
  const longest = Math.max(...days) + 2;
  const lives = serials.map((serial, unit) => messagesOf(serial, `${seed}/day/${unit}`, longest));
  const grown: Grown[] = [];
  let from = instant(fleetStart);
  for (const after of days) {
    const until = beforeNext(after);
    await inFolder(dataFolder, until, async (services) => {
      if (after === days[0]) services.db.update(loan).set({ openedAt: from, startedAt: from }).run();
      for (const messages of lives) await deliver(services, messages, from, until);
      for (const serial of serials) await reviewUnit(services, serial);
      while (await services.telemetry.tidy(until, 1_000));
      // A review lets go of the days it had news of: they are told after it.
      for (const serial of serials) await assessUnit(services, serial);
    });
    from = until;
    const oneMore = `${dataFolder}-after-${after}`;
    cpSync(dataFolder, oneMore, { recursive: true });
    await inFolder(oneMore, beforeNext(after + 1), async (services) => {
      for (const messages of lives) await deliver(services, messages, until, beforeNext(after + 1));
    });
    grown.push({ after, dataFolder: oneMore });
  }
  return grown;
}
