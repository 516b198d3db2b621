import type { UnitSerial } from "../ids.ts";
import { type Kilograms, type Millimetres, millimetres } from "../units.ts";
import { whereWords } from "./moves.ts";
import type { Place } from "./place.ts";

/** What the chair and the person ask of a cushion. */
export interface Seat {
  readonly seatWidth: Millimetres;
  readonly seatDepth: Millimetres;
  readonly weight: Kilograms;
}

export interface CandidateUnit {
  readonly serial: UnitSerial;
  readonly modelName: string;
  readonly size: string;
  readonly place: Place;
  readonly width: Millimetres;
  readonly depth: Millimetres;
  readonly weightLimit: Kilograms;
  /** References of recalls that bar it from issue. */
  readonly barredBy: readonly string[];
  /** Reserved for a planned visit that isn't this one. */
  readonly reservedElsewhere: boolean;
}

export type UnsuitableRule =
  | "not-in-stock"
  | "recall"
  | "reserved-elsewhere"
  | "seat-width"
  | "seat-depth"
  | "weight-limit";

export interface Unsuitable {
  readonly rule: UnsuitableRule;
  readonly sentence: string;
}

/** How far a cushion may differ from the seat, either way. Assumption: half the common step between sizes; the maker's
 *  fitting instructions and the prescriber's judgement come first. */
export const fitTolerance = millimetres(25);

const centimetres = (length: Millimetres): string => `${length / 10} cm`;

/** Every reason why this unit can't go to this person: none means that it can.
 *  Source of the gates (fit, weight limit, stock, recall): common practice, no source. */
export function reasonsAgainst(unit: CandidateUnit, seat: Seat): readonly Unsuitable[] {
  const reasons: Unsuitable[] = [];
  const against = (rule: UnsuitableRule, sentence: string) => reasons.push({ rule, sentence });
  if (unit.place !== "in-stock" && unit.place !== "reserved")
    against("not-in-stock", `It is ${whereWords[unit.place]}, not in stock.`);
  if (unit.barredBy.length > 0)
    against("recall", `Recall ${unit.barredBy.join(", ")} holds it back from issue.`);
  if (unit.reservedElsewhere) against("reserved-elsewhere", "It is reserved for a planned visit.");
  if (Math.abs(unit.width - seat.seatWidth) > fitTolerance)
    against(
      "seat-width",
      `It is ${centimetres(unit.width)} wide; the seat is ${centimetres(seat.seatWidth)} wide.`,
    );
  if (Math.abs(unit.depth - seat.seatDepth) > fitTolerance)
    against(
      "seat-depth",
      `It is ${centimetres(unit.depth)} deep; the seat is ${centimetres(seat.seatDepth)} deep.`,
    );
  if (seat.weight > unit.weightLimit)
    against(
      "weight-limit",
      `It carries up to ${unit.weightLimit} kg; the borrower weighs ${seat.weight} kg.`,
    );
  return reasons;
}

export interface Match {
  readonly unit: CandidateUnit;
  readonly against: readonly Unsuitable[];
}

const misfit = (unit: CandidateUnit, seat: Seat): number =>
  Math.abs(unit.width - seat.seatWidth) + Math.abs(unit.depth - seat.seatDepth);

/** All candidates, those that suit first, each group nearest to the seat first; ties by serial, so that two people see
 *  the same order. */
export function matchUnits(candidates: readonly CandidateUnit[], seat: Seat): readonly Match[] {
  return candidates
    .map((unit) => ({ unit, against: reasonsAgainst(unit, seat) }))
    .sort(
      (a, b) =>
        a.against.length - b.against.length ||
        misfit(a.unit, seat) - misfit(b.unit, seat) ||
        a.unit.serial.localeCompare(b.unit.serial),
    );
}

/** The nearest that suits, null when the stock holds none. */
export function nearestSuitable(candidates: readonly CandidateUnit[], seat: Seat): CandidateUnit | null {
  return matchUnits(candidates, seat).find((match) => match.against.length === 0)?.unit ?? null;
}
