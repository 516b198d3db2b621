/** A fault is told four times over, each apart from the others: what was reported, what was seen, what caused it and
 *  what was changed. Any may honestly be "nothing": a report can be right though the bench finds no fault. */
export const problems = [
  "none-reported",
  "reliefs-missing",
  "record-missing",
  "wrong-load",
  "battery-short",
  "wet-or-soiled",
  "damage-seen",
  "routine-check",
] as const;
export type Problem = (typeof problems)[number];

export const seen = [
  "nothing-found",
  "line-without-answer",
  "cell-without-answer",
  "cell-stuck",
  "lines-touching",
  "line-comes-and-goes",
  "reading-drifted",
  "load-wrong",
  "foam-or-cover-worn",
  "moisture",
  "battery-weak",
  "battery-unsafe",
  "electronics-fault",
] as const;
export type Seen = (typeof seen)[number];

export const conclusions = [
  "no-fault-found",
  "cause-not-established",
  "wear",
  "damage-in-use",
  "liquid",
  "washing",
  "assembly",
  "component-failed",
  "firmware",
  "age",
] as const;
export type Conclusion = (typeof conclusions)[number];

export const parts = [
  "insert",
  "cable",
  "plug",
  "electronics",
  "battery",
  "foam",
  "cover",
  "charger",
  "firmware",
] as const;
export type Part = (typeof parts)[number];

export interface FaultCode {
  readonly problem: Problem;
  readonly seen: Seen;
  readonly conclusion: Conclusion;
}

/** Two things can't be said together. @returns the sentence that says why, or null */
export function contradictionIn({ seen: found, conclusion }: FaultCode): string | null {
  if (found === "nothing-found" && conclusion !== "no-fault-found")
    return "Nothing was seen: the conclusion can then only be “no fault found”.";
  if (found !== "nothing-found" && conclusion === "no-fault-found")
    return "Something was seen: where its cause isn’t known, say “cause not established”.";
  return null;
}

export const problemWords: Readonly<Record<Problem, string>> = {
  "none-reported": "nothing was reported",
  "reliefs-missing": "reliefs that were done didn’t show",
  "record-missing": "parts of the record are missing",
  "wrong-load": "load or place looked wrong",
  "battery-short": "a charge didn’t last",
  "wet-or-soiled": "it got wet or soiled",
  "damage-seen": "damage was seen",
  "routine-check": "routine check between loans",
};

export const seenWords: Readonly<Record<Seen, string>> = {
  "nothing-found": "nothing out of tolerance",
  "line-without-answer": "a row or column that doesn’t answer",
  "cell-without-answer": "single cells that don’t answer",
  "cell-stuck": "a stuck cell",
  "lines-touching": "two lines that touch",
  "line-comes-and-goes": "a line that comes and goes",
  "reading-drifted": "the empty reading has drifted",
  "load-wrong": "known loads read wrong",
  "foam-or-cover-worn": "worn foam or cover",
  moisture: "moisture inside",
  "battery-weak": "a weak battery",
  "battery-unsafe": "an unsafe battery",
  "electronics-fault": "a fault of the electronics",
};

export const conclusionWords: Readonly<Record<Conclusion, string>> = {
  "no-fault-found": "no fault found",
  "cause-not-established": "cause not established",
  wear: "wear",
  "damage-in-use": "damage in use",
  liquid: "liquid",
  washing: "washing",
  assembly: "assembly",
  "component-failed": "a component failed",
  firmware: "firmware",
  age: "age",
};

export const partWords: Readonly<Record<Part, string>> = {
  insert: "sensor insert",
  cable: "cable",
  plug: "plug",
  electronics: "electronics",
  battery: "battery",
  foam: "foam",
  cover: "cover",
  charger: "charger",
  firmware: "firmware",
};
