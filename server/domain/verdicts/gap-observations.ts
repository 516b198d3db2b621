import type { ZoneName } from "../time/local-day.ts";
import type { GapContext, NoteClue } from "./gap-context.ts";
import type { gapLikelihoods } from "./gap-likelihoods.ts";
import { capacity, charge, charges, charging, power } from "./gap-power.ts";
import type { Observation } from "./observation.ts";
import { relay } from "./relay-clue.ts";
import { spokenHours, spokenMoment, spokenTime } from "./spoken.ts";

type GapClue = keyof typeof gapLikelihoods;
type Seen = Observation & { readonly clue: GapClue };

const seen = (clue: GapClue, values: readonly string[], sentence: string): Seen => ({
  clue,
  values,
  sentence,
});

/** Below this many other units, "the others were silent too" says too little to use. Assumption. */
const fewestOthers = 4;
const mostOfAll = 0.6;
/** Two neighbours and half of them: by chance hardly once in a thousand gaps, if each falls silent within any twenty
 *  minutes once in fifty times. Assumption. */
const isNearby = ({ silent, others }: { silent: number; others: number }): boolean =>
  silent >= 2 && silent >= others / 2;
/** So long after most of the others came back, what they shared no longer explains it. Assumption. */
const longBack = 1;
/** A fall of this much between two empty readings means somewhere colder. Assumption. */
const colderFrom = 6;

/** Everything known of a gap as clue values with their sentences; what is unknown is left out. */
export function gapObservations(context: GapContext, zone: ZoneName): Observation[] {
  // Once the record is in, where people and battery were is known and no clue any more: only the way it came is.
  if (context.filledAt !== null) {
    return [
      together(context),
      power(context, zone),
      signal(context),
      relay(context, zone),
      certificate(context),
    ].filter((one) => one !== null);
  }
  return [
    together(context),
    power(context, zone),
    charge(context),
    charges(context),
    charging(context),
    capacity(context),
    signal(context),
    relay(context, zone),
    stateBefore(context, zone),
    stateAfter(context, zone),
    temperature(context),
    note(context, zone),
    hour(context, zone),
    certificate(context),
    electronics(context),
  ].filter((one) => one !== null);
}

function together({ together: clue, ongoing }: GapContext): Seen | null {
  if (!clue) return null;
  const share = clue.silent / clue.others;
  const isBack = clue.backFor !== null && clue.backFor >= longBack;
  if (clue.near && share < mostOfAll && !isBack && isNearby(clue.near)) {
    return seen(
      "together",
      ["nearby"],
      `${clue.near.silent} of the ${clue.near.others} other units in the same area fell silent within the same minutes, and ${clue.silent - clue.near.silent} of the ${clue.others - clue.near.others} elsewhere.`,
    );
  }
  if (clue.others < fewestOthers) return null;
  if (clue.silent === 0) {
    return seen("together", ["alone"], `None of the ${clue.others} other units on loan fell silent with it.`);
  }
  if (clue.backFor !== null && isBack && (share >= 0.25 || clue.silent >= 3)) {
    return seen(
      "together",
      ["others-back"],
      `${clue.silent} of the ${clue.others} other units on loan fell silent within the same minutes; most of them were back ${spokenHours(clue.backFor)} before ${ongoing ? "now, and this one is still silent" : "this one"}.`,
    );
  }
  const value = share >= mostOfAll ? "most" : clue.silent >= 3 || share >= 0.25 ? "several" : "alone";
  return seen(
    "together",
    [value],
    `${clue.silent} of the ${clue.others} other units on loan fell silent within the same minutes.`,
  );
}

function signal({ signal: clue }: GapContext): Seen | null {
  if (!clue) return null;
  const sentence = {
    none: `The unit itself noted ${clue.minutesWithout} min without a relay just before.`,
    weak: "The relay was only just in reach before the record stopped.",
    fine: "The relay was well in reach until the record stopped.",
  }[clue.level];
  return seen("signal", [clue.level], sentence);
}

const stateWords = {
  seated: "someone was seated",
  off: "nobody was seated",
  "on-charge": "it was on charge",
};

/** Empty for so many times the longest usual here, and hours, is no ordinary night. Assumption. */
const emptyTimes = 1.3;
const emptyHours = 16;

/** How it was left; long empty is told by the same clue, for it is the same fact. */
function stateBefore({ before, span, emptyFor }: GapContext, zone: ZoneName): Seen | null {
  if (emptyFor && emptyFor.hours >= Math.max(emptyHours, emptyFor.usual * emptyTimes)) {
    return seen(
      "state-before",
      ["long-empty"],
      `Nobody had sat on it for ${spokenHours(emptyFor.hours)} when the record stopped; the longest usual here is ${spokenHours(emptyFor.usual)}.`,
    );
  }
  if (!before) return null;
  return seen(
    "state-before",
    [before],
    `When the record stopped at ${spokenTime(span.start, zone)}, ${stateWords[before]}.`,
  );
}

function stateAfter({ after, span, ongoing }: GapContext, zone: ZoneName): Seen | null {
  if (!after || ongoing) return null;
  return seen(
    "state-after",
    [after],
    `When the record came back at ${spokenTime(span.end, zone)}, ${stateWords[after]}.`,
  );
}

function temperature({ colderBy }: GapContext): Seen | null {
  if (colderBy === null) return null;
  return colderBy >= colderFrom
    ? seen(
        "temperature",
        ["colder"],
        `The insert came back ${Math.round(colderBy)} °C colder than it was, as if it had been left somewhere cool.`,
      )
    : seen("temperature", ["same"], "The insert came back at about the temperature it had before.");
}

const noteWords: Record<NoteClue, string> = {
  hospital: "a stay in hospital",
  holiday: "a holiday",
  "washed-cover": "a washed cover",
  "new-chair": "a new chair",
  visit: "a visit",
};

function note({ note: clue }: GapContext, zone: ZoneName): Seen | null {
  if (clue === "none") return seen("note", ["none"], "No note on the loan covers this time.");
  // A new chair says nothing of why a record stops.
  if (clue.kind === "new-chair") return null;
  return seen(
    "note",
    [clue.kind],
    `The loan has a note of ${noteWords[clue.kind]} from ${spokenMoment(clue.from, zone)}.`,
  );
}

function hour({ hour: at, span }: GapContext, zone: ZoneName): Seen {
  const night = at >= 22 || at < 6;
  return seen(
    "hour",
    [night ? "night" : "day"],
    `It began at ${spokenTime(span.start, zone)}, ${night ? "at night" : "by day"}.`,
  );
}

function certificate({ certificate: clue }: GapContext): Seen | null {
  if (!clue) return null;
  return clue === "refused"
    ? seen(
        "certificate",
        ["refused"],
        "The unit's certificate had run out or been revoked, so its connection was refused.",
      )
    : seen("certificate", ["good"], "The unit's certificate was good throughout.");
}

function electronics({ electronics: clue }: GapContext): Seen | null {
  if (!clue) return null;
  return clue.signs.length > 0
    ? seen("electronics", ["signs"], `The unit has an open finding of ${clue.signs.join(" and ")}.`)
    : seen("electronics", ["no-sign"], "No finding of restarts or wet is open on the unit.");
}
