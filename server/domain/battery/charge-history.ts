import type { RecordedMinute } from "../record/unit-record.ts";
import { after, type Hours, hours, milliseconds, millisecondsIn, type Span } from "../units.ts";
import { stateOfCharge } from "./open-circuit-voltage.ts";

/** One time on the charger. `full`: the unit said its cell was charged before the charger came out. */
export interface ChargeSession extends Span {
  readonly ended: "full" | "interrupted" | "going-on";
}

/** A run on battery between two charges, first and last minute trusted as rested readings because the electronics
 *  draw milliamps (assumption). */
export interface Discharge extends Span {
  readonly from: number;
  readonly to: number;
  /** Hours recorded with somebody on the seat, and with nobody: the unit draws more while it is sat on. */
  readonly loaded: Hours;
  readonly empty: Hours;
}

export interface ChargeHistory {
  readonly sessions: readonly ChargeSession[];
  readonly discharges: readonly Discharge[];
  /** Charge drawn over rated charge: 1 is one full cycle, however many top-ups it took. */
  readonly equivalentFullCycles: number;
}

/** Minutes further apart than this are not one run: what happened between them is unknown. */
const longestHole = 90 * millisecondsIn.minute;
/** @param minutes of one unit, oldest first */
export function chargeHistory(minutes: readonly RecordedMinute[]): ChargeHistory {
  const runs = splitRuns(minutes);
  const sessions = runs
    .filter((run) => run.charging)
    .map((run, index, all) => sessionOf(run, index === all.length - 1, minutes));
  const discharges = runs.filter((run) => !run.charging).map(dischargeOf);
  const drawn = discharges.reduce((sum, run) => sum + Math.max(0, run.from - run.to), 0);
  return { sessions, discharges, equivalentFullCycles: drawn };
}

interface Run {
  readonly charging: boolean;
  readonly minutes: RecordedMinute[];
}

function splitRuns(minutes: readonly RecordedMinute[]): Run[] {
  const runs: Run[] = [];
  let previous: RecordedMinute | undefined;
  for (const minute of minutes) {
    const charging = minute.power !== "on-battery";
    const run = runs.at(-1);
    if (run && previous && run.charging === charging && minute.at - previous.at <= longestHole)
      run.minutes.push(minute);
    else runs.push({ charging, minutes: [minute] });
    previous = minute;
  }
  return runs;
}

const spanOf = (run: Run): Span => {
  const first = run.minutes[0];
  const last = run.minutes.at(-1);
  if (!first || !last) throw new Error("a run holds at least one minute");
  return { start: first.at, end: after(last.at, milliseconds(millisecondsIn.minute)) };
};

function sessionOf(run: Run, isLast: boolean, all: readonly RecordedMinute[]): ChargeSession {
  const span = spanOf(run);
  const stillOn = isLast && all.at(-1) === run.minutes.at(-1);
  if (run.minutes.some((minute) => minute.power === "charged")) return { ...span, ended: "full" };
  return { ...span, ended: stillOn ? "going-on" : "interrupted" };
}

function dischargeOf(run: Run): Discharge {
  const span = spanOf(run);
  const from = meanCharge(run.minutes.slice(0, 15));
  const to = meanCharge(run.minutes.slice(-15));
  const loaded = run.minutes.filter((minute) => minute.seat === "loaded").length / 60;
  return { ...span, from, to, loaded: hours(loaded), empty: hours(run.minutes.length / 60 - loaded) };
}

const meanCharge = (minutes: readonly RecordedMinute[]): number =>
  minutes.reduce((sum, minute) => sum + stateOfCharge(minute.cell).best, 0) / minutes.length;
