import { median } from "../statistics/median.ts";
import { after, type Hours, hours, milliseconds, millisecondsIn, millivolts, type Span } from "../units.ts";
import { stateOfCharge } from "./open-circuit-voltage.ts";
import type { PowerRun } from "./power-runs.ts";
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
  /** There was at least one full charge to hold it against. */
  readonly gaugeAnchored: boolean;
}

/** @param runs oldest first, joined over midnights */
export function chargeHistory(runs: readonly PowerRun[]): ChargeHistory {
  const offset = gaugeOffset(runs);
  const sessions = runs.filter(({ charging }) => charging).map((run) => sessionOf(run, run === runs.at(-1)));
  const discharges = runs.filter(({ charging }) => !charging).map((run) => dischargeOf(run, offset ?? 0));
  const drawn = discharges.reduce((sum, run) => sum + Math.max(0, run.from - run.to), 0);
  const cycles = rainflow(discharges.flatMap(({ from, to }) => [from, to]));
  return {
    sessions,
    discharges,
    equivalentFullCycles: drawn,
    cycles,
    gaugeOffset: offset ?? 0,
    gaugeAnchored: offset !== null,
  };
}

const spanOf = ({ first, last }: PowerRun): Span => ({
  start: first,
  end: after(last, milliseconds(millisecondsIn.minute)),
});

function sessionOf(run: PowerRun, isLast: boolean): ChargeSession {
  if (run.full) return { ...spanOf(run), ended: "full" };
  return { ...spanOf(run), ended: isLast ? "going-on" : "interrupted" };
}

const dischargeOf = (run: PowerRun, offset: number): Discharge => ({
  ...spanOf(run),
  from: meanCharge(run.head, offset),
  to: meanCharge(run.tail, offset),
  loaded: hours(run.loaded / 60),
  empty: hours((run.minutes - run.loaded) / 60),
  searching: hours(run.searching / 60),
});

const meanCharge = (cells: readonly number[], offset: number): number =>
  cells.reduce((sum, cell) => sum + stateOfCharge(millivolts(cell - offset)).best, 0) / cells.length;

/** What a cell of this kind reads at rest a few minutes after a full charge. Assumption: its charge ends at 4.2 V. */
const fullAtRest = 4_194;
const mostOffset = 60;

/** A full charge is an anchor that needs no table: what the converter reads there shows how far it is off. */
function gaugeOffset(runs: readonly PowerRun[]): number | null {
  const readings = runs.flatMap((run, index): readonly number[] => {
    const before = runs[index - 1];
    if (run.charging || !before?.endsFull || run.first - before.last > 5 * millisecondsIn.minute) return [];
    return run.head.slice(0, 5);
  });
  const middle = median(readings);
  if (middle === null) return null;
  return Math.max(-mostOffset, Math.min(mostOffset, middle - fullAtRest));
}
