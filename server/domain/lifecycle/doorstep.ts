/** What is done where nobody comes to the door, in order. A written procedure with prompt escalation: common practice, no
 *  source; the ten minutes are an assumption. */
export const doorstepSteps = [
  "rang",
  "second-number",
  "waited",
  "card",
  "asked-hospital",
  "concern",
] as const;
export type DoorstepStep = (typeof doorstepSteps)[number];

export const doorstepWords: Readonly<Record<DoorstepStep, string>> = {
  rang: "Rang at the door and by phone",
  "second-number": "Rang the second number",
  waited: "Waited ten minutes",
  card: "Left a card, with nothing clinical on it",
  "asked-hospital": "Asked the hospital or the contacts",
  concern: "Told whoever the local procedure names",
};

/** What is known by then of why nobody came to the door. None of them is a fault of the person's. */
export const doorstepFindings = ["no-answer", "out", "in-hospital", "not-today", "wrong-address"] as const;
export type DoorstepFinding = (typeof doorstepFindings)[number];

export const doorstepFindingWords: Readonly<Record<DoorstepFinding, string>> = {
  "no-answer": "No answer, and nothing else is known",
  out: "Out, and safe",
  "in-hospital": "In hospital",
  "not-today": "Somebody answered: it did not suit today",
  "wrong-address": "The address was not theirs",
};

/** For the loan's notes: what was done and what was learned. */
export function doorstepNote(found: DoorstepFinding, steps: readonly DoorstepStep[]): string {
  const taken = doorstepSteps.filter((step) => steps.includes(step)).map((step) => doorstepWords[step]);
  return `At the door: ${doorstepFindingWords[found].toLowerCase()}. ${taken.length === 0 ? "No step was written down" : taken.join("; ")}.`;
}
