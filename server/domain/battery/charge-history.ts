import type { RecordedMinute } from "../record/unit-record.ts";
import { median } from "../statistics/median.ts";
import { after, type Hours, hours, milliseconds, millisecondsIn, millivolts, type Span } from "../units.ts";
import { stateOfCharge } from "./open-circuit-voltage.ts";
import { type CountedCycle, rainflow } from "./rainflow.ts";

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
  /** Hours without a relay: calling for one costs extra. */
  readonly searching: Hours;
}

export interface ChargeHistory {
  readonly sessions: readonly ChargeSession[];
  readonly discharges: readonly Discharge[];
  /** Charge drawn over rated charge: 1 is one full cycle, however many top-ups it took. */
  readonly equivalentFullCycles: number;
  /** Depth-counted: how deep each cycle went, 0 to 1. */
  readonly cycles: readonly CountedCycle[];
  /** How far the unit's converter reads high, mV, by what it read just after full charges; 0 where there were none. */
  readonly gaugeOffset: number;
}

/** Minutes further apart than this are not one run: what happened between them is unknown. */
const longestHole = 90 * millisecondsIn.minute;
/** @param minutes of one unit, oldest first */
export function chargeHistory(minutes: readonly RecordedMinute[]): ChargeHistory {
  const runs = splitRuns(minutes);
  const offset = gaugeOffset(runs);
  const sessions = runs
    .filter((run) => run.charging)
    .map((run, index, all) => sessionOf(run, index === all.length - 1, minutes));
  const discharges = runs.filter((run) => !run.charging).map((run) => dischargeOf(run, offset));
  const drawn = discharges.reduce((sum, run) => sum + Math.max(0, run.from - run.to), 0);
  const cycles = rainflow(discharges.flatMap(({ from, to }) => [from, to]));
  return { sessions, discharges, equivalentFullCycles: drawn, cycles, gaugeOffset: offset };
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

function dischargeOf(run: Run, offset: number): Discharge {
  const span = spanOf(run);
  const from = meanCharge(run.minutes.slice(0, 15), offset);
  const to = meanCharge(run.minutes.slice(-15), offset);
  const loaded = run.minutes.filter((minute) => minute.seat === "loaded").length / 60;
  const searching = run.minutes.filter((minute) => minute.signal === null).length / 60;
  return {
    ...span,
    from,
    to,
    loaded: hours(loaded),
    empty: hours(run.minutes.length / 60 - loaded),
    searching: hours(searching),
  };
}

const meanCharge = (minutes: readonly RecordedMinute[], offset: number): number =>
  minutes.reduce((sum, minute) => sum + stateOfCharge(millivolts(minute.cell - offset)).best, 0) /
  minutes.length;

/** What a cell of this kind reads at rest a few minutes after a full charge. Assumption: its charge ends at 4.2 V. */
const fullAtRest = 4_194;
const mostOffset = 60;

/** A full charge is an anchor that needs no table: what the converter reads there shows how far it is off. */
function gaugeOffset(runs: readonly Run[]): number {
  const readings = runs.flatMap((run, index): number[] => {
    const before = runs[index - 1];
    if (run.charging || before?.minutes.at(-1)?.power !== "charged") return [];
    const first = run.minutes[0];
    const last = before.minutes.at(-1);
    if (!first || !last || first.at - last.at > 5 * millisecondsIn.minute) return [];
    return run.minutes.slice(0, 5).map((minute) => minute.cell);
  });
  const middle = median(readings);
  if (middle === null) return 0;
  return Math.max(-mostOffset, Math.min(mostOffset, middle - fullAtRest));
}
