import type { Place } from "./place.ts";
import { type Refused, refused } from "./refusal.ts";

/** What has become of an affected unit: exactly one at a time. */
export const recallOutcomes = [
  "outstanding",
  "corrected-in-place",
  "returned",
  "quarantined",
  "scrapped-with-evidence",
  "passed-on",
  "lost",
  "refused",
] as const;
export type RecallOutcome = (typeof recallOutcomes)[number];

export const recallOutcomeWords = {
  outstanding: "outstanding",
  "corrected-in-place": "corrected in place",
  returned: "returned",
  quarantined: "in quarantine",
  "scrapped-with-evidence": "scrapped, with evidence",
  "passed-on": "passed on to another keeper",
  lost: "lost",
  refused: "return declined",
} as const satisfies Record<RecallOutcome, string>;

/** An outcome that nobody has seen happen counts only when a named person answers for it. */
export const needsSignOff = (outcome: RecallOutcome): boolean => outcome === "lost" || outcome === "refused";

export interface RecallLine {
  readonly outcome: RecallOutcome;
  readonly signedOff: boolean;
}

export interface RecallBalance {
  readonly affected: number;
  readonly counts: Readonly<Record<RecallOutcome, number>>;
  readonly awaitingSignOff: number;
}

/** affected = corrected + returned + quarantined + scrapped + passed on + lost + refused + outstanding.
 *  The identity is the trade's reconciliation of a recall; common practice, no source. */
export function balanceRecall(lines: readonly RecallLine[]): RecallBalance {
  const counts: Record<RecallOutcome, number> = {
    outstanding: 0,
    "corrected-in-place": 0,
    returned: 0,
    quarantined: 0,
    "scrapped-with-evidence": 0,
    "passed-on": 0,
    lost: 0,
    refused: 0,
  };
  for (const line of lines) counts[line.outcome] += 1;
  const awaitingSignOff = lines.filter((line) => needsSignOff(line.outcome) && !line.signedOff).length;
  return { affected: lines.length, counts, awaitingSignOff };
}

/** Why the recall can't close yet; null when it can. `unlisted`: units that meet its criterion but aren't on its list. */
export function reasonNotToClose(
  balance: RecallBalance,
  unlisted: number,
): Refused<"unlisted-units" | "outstanding-units" | "sign-off-missing"> | null {
  if (unlisted > 0)
    return refused("unlisted-units", `${units(unlisted)} match this recall but are not on its list yet.`);
  if (balance.counts.outstanding > 0)
    return refused(
      "outstanding-units",
      `${units(balance.counts.outstanding)} still outstanding. Being told is not being acted on: a recall closes when every unit has an outcome.`,
    );
  if (balance.awaitingSignOff > 0)
    return refused(
      "sign-off-missing",
      `${units(balance.awaitingSignOff)} lost or declined, without a named person’s sign-off.`,
    );
  return null;
}

const units = (count: number): string => (count === 1 ? "1 unit" : `${count} units`);

/** An outcome must agree with where the unit is, or the count would balance on paper only. */
export function placeContradicts(outcome: RecallOutcome, place: Place): string | null {
  const expected = placesFor(outcome);
  return expected === null || expected.includes(place) ? null : contradiction[outcome];
}

function placesFor(outcome: RecallOutcome): readonly Place[] | null {
  switch (outcome) {
    case "outstanding":
    case "corrected-in-place":
      return null;
    case "returned":
      return ["in-stock", "quarantine", "cleaning", "on-the-bench", "retired"];
    case "quarantined":
      return ["quarantine"];
    case "scrapped-with-evidence":
    case "passed-on":
      return ["retired"];
    case "lost":
      return ["missing"];
    case "refused":
      return ["on-loan"];
  }
}

const contradiction: Readonly<Record<RecallOutcome, string>> = {
  outstanding: "",
  "corrected-in-place": "",
  returned: "It has not come back: end its loan and book it in first.",
  quarantined: "It is not in quarantine: move it there first.",
  "scrapped-with-evidence": "It has not been retired: retire it first.",
  "passed-on": "It has not been retired from this programme: retire it first.",
  lost: "It is not recorded as missing: record that first.",
  refused: "It is not on loan, so nobody can have declined to return it.",
};
