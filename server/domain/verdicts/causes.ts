import type { Milliseconds } from "../units.ts";
import { millisecondsIn } from "../units.ts";
import type { Side, StretchKind } from "./verdict.ts";

/** A thing that can make a record go quiet or thin. The order of a catalogue is the column order of likelihoods.ts. */
export interface Cause {
  readonly id: string;
  readonly side: Side;
  /** Completes "… ": "the battery ran flat sooner than it should". */
  readonly words: string;
  /** A few words for a bracket on the ribbon. */
  readonly label: string;
}

/** Causes of a gap. Being out of the relay's reach counts as link, whoever moved the unit: what is missing is the
 *  connection, and the unit itself goes on recording. */
export const gapCauses = [
  {
    id: "battery-worn",
    side: "device",
    label: "worn battery",
    words: "the battery no longer lasts and ran flat",
  },
  {
    id: "charging",
    side: "device",
    label: "charger or its socket",
    words: "the charger, its cable or the socket no longer charged it",
  },
  {
    id: "electronics",
    side: "device",
    label: "electronics stopped",
    words: "the electronics stopped by themselves",
  },
  {
    id: "not-charged",
    side: "handling",
    label: "not charged in time",
    words: "the battery ran flat before its next charge",
  },
  {
    id: "switched-off",
    side: "handling",
    label: "switched off",
    words: "the unit was switched off or put away",
  },
  {
    id: "out-of-reach",
    side: "link",
    label: "out of relay reach",
    words: "the unit was out of its relay's reach",
  },
  { id: "home-link", side: "link", label: "home link down", words: "the relay or the home network was down" },
  {
    id: "area-outage",
    side: "link",
    label: "network down nearby",
    words: "the network was down in several homes",
  },
  {
    id: "programme-link",
    side: "link",
    label: "programme link down",
    words: "the programme's own connection was down",
  },
  {
    id: "certificate",
    side: "link",
    label: "certificate refused",
    words: "the unit's certificate was no longer accepted",
  },
  { id: "away", side: "person", label: "away", words: "they were away and the cushion was not in use" },
  {
    id: "chose-to-stop",
    side: "person",
    label: "chose not to use it",
    words: "they chose not to use it for a while",
  },
] as const satisfies readonly Cause[];

/** Causes of a thin stretch. A relief done in a way the unit can't see counts as device: the limit is the unit's. */
export const thinCauses = [
  {
    id: "ordinary",
    side: "person",
    label: "an ordinary long sit",
    words: "this is an ordinary long sit for them, not a change",
  },
  { id: "fewer-done", side: "person", label: "fewer reliefs", words: "fewer reliefs were made than before" },
  {
    id: "prompts-fading",
    side: "person",
    label: "prompts fading",
    words: "the prompts no longer lead to a relief as they did",
  },
  {
    id: "line-dead",
    side: "device",
    label: "grid partly dead",
    words: "part of the sensor grid can't see the reliefs",
  },
  { id: "drift", side: "device", label: "sensor drift", words: "the sensor's readings have drifted" },
  {
    id: "unseen-method",
    side: "device",
    label: "a way it can't see",
    words: "reliefs were made in a way this unit can't see",
  },
  {
    id: "one-missed",
    side: "device",
    label: "one not registered",
    words: "a relief was made that the unit did not register",
  },
  {
    id: "insert-moved",
    side: "handling",
    label: "insert moved",
    words: "the cushion was turned or its insert has moved",
  },
  {
    id: "other-seat",
    side: "handling",
    label: "another seat or person",
    words: "someone else, or another seat, was recorded",
  },
  {
    id: "rules-changed",
    side: "handling",
    label: "plan changed",
    words: "the relief plan changed, so what counts has changed",
  },
] as const satisfies readonly Cause[];

export const catalogue = (kind: StretchKind): readonly Cause[] => (kind === "gap" ? gapCauses : thinCauses);

/** One line a table of starting shares: where it is from and the weight of each cause, in catalogue order.
 *  Weights need not add up to 1 or 100; `priorsFor` divides by their sum. */
interface PriorTable {
  readonly origin: string;
  readonly weights: readonly number[];
}

export const priorTables = {
  /** Under 4 h: nothing lasting is broken; reach, routers and switching off are the everyday reasons. Being away or
   *  done with it lasts days, and by itself does not stop a record. */
  "gap-short": {
    origin:
      "assumption: brief losses are mostly of the connection; to be replaced by the programme's own counts",
    //        worn charger elec uncharged off reach home area prog cert away chose
    weights: [3, 1.5, 2.5, 12, 17, 26, 24, 6, 4, 1, 0.6, 0.12],
  },
  /** 4 to 24 h: between the two. */
  "gap-day": {
    origin: "assumption: midway between the short and the long table",
    weights: [5, 2.5, 2.5, 21, 24, 14, 18, 4, 2, 2, 2.3, 0.35],
  },
  /** One to three days: power and charging 30, link 25, absence and choice 25, set-up 7, hardware 8 in a hundred. */
  "gap-long": {
    origin:
      "assumption: starting shares for silences of a day and more; to be replaced by the programme's own counts",
    weights: [6, 3, 3, 20, 8, 5, 14, 2, 1, 3, 22, 1.5],
  },
  /** Longer: at home somebody would have seen the dark unit and charged it, or rung. */
  "gap-days": {
    origin: "assumption: as for one to three days, with more that began because nobody was there",
    //        worn charger elec uncharged off reach home area prog cert away chose
    weights: [2.5, 1.5, 2, 6, 2, 5, 10, 0.6, 0.3, 3, 48, 8],
  },
  /** Every long sit without a relief is asked about, and half of the days of full-time users held two hours of it: the
   *  ordinary ones far outnumber the rest, whose shares are: person 55, placement or another user 20, grid 12, plan or
   *  method 12 in a hundred. */
  thin: {
    origin:
      "assumption: shares where data are fine and reliefs fewer than before, with the ordinary long sits of an activity study of full-time users beside them",
    //        ordin fewer prompt line drift unseen one insert other rules
    weights: [90, 17, 5, 8, 5, 5, 5, 8, 8, 7],
  },
} as const satisfies Record<string, PriorTable>;
export type PriorTableName = keyof typeof priorTables;

export function priorTableFor(kind: StretchKind, length: Milliseconds): PriorTableName {
  if (kind === "thin") return "thin";
  if (length < 4 * millisecondsIn.hour) return "gap-short";
  if (length < 24 * millisecondsIn.hour) return "gap-day";
  return length < 72 * millisecondsIn.hour ? "gap-long" : "gap-days";
}

/** Prior probabilities in catalogue order; they add up to 1. */
export function priorsFor(table: PriorTableName): number[] {
  const { weights } = priorTables[table];
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  return weights.map((weight) => weight / total);
}
