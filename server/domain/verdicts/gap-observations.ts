import type { ZoneName } from "../time/local-day.ts";
import { millisecondsIn } from "../units.ts";
import type { GapContext, NoteClue } from "./gap-context.ts";
import type { gapLikelihoods } from "./likelihoods.ts";
import type { Observation } from "./observation.ts";
import { spokenLength, spokenMoment, spokenTime } from "./spoken.ts";

type GapClue = keyof typeof gapLikelihoods;
type Seen = Observation & { readonly clue: GapClue };

const seen = (clue: GapClue, values: readonly string[], sentence: string): Seen => ({
  clue,
  values,
  sentence,
});

/** Below this many other units, "the others were silent too" says too little to use. Assumption. */
const fewestOthers = 4;
/** A fall of this much between two empty readings means somewhere colder. Assumption. */
const colderFrom = 6;

/** Everything known of a gap as clue values with their sentences; what is unknown is left out. */
export function gapObservations(context: GapContext, zone: ZoneName): Observation[] {
  // Once the record is in, where people and battery were is known and no clue any more: only the way it came is.
  if (context.filledAt !== null) {
    return [together(context), power(context, zone), signal(context), certificate(context)].filter(
      (one) => one !== null,
    );
  }
  return [
    together(context),
    power(context, zone),
    sinceCharge(context),
    charging(context),
    capacity(context),
    signal(context),
    stateBefore(context, zone),
    stateAfter(context, zone),
    temperature(context),
    note(context, zone),
    hour(context, zone),
    certificate(context),
    electronics(context),
  ].filter((one) => one !== null);
}

function together({ together: clue }: GapContext): Seen | null {
  if (!clue || clue.others < fewestOthers) return null;
  const share = clue.silent / clue.others;
  if (clue.silent === 0) {
    return seen("together", ["alone"], `None of the ${clue.others} other units on loan fell silent with it.`);
  }
  const value = share >= 0.6 ? "most" : clue.silent >= 3 || share >= 0.25 ? "several" : "alone";
  return seen(
    "together",
    [value],
    `${clue.silent} of the ${clue.others} other units on loan fell silent within the same minutes.`,
  );
}

function power(context: GapContext, zone: ZoneName): Seen | null {
  const { comeback, battery } = context;
  if (comeback?.kind === "ran-on") return ranOn(context, comeback.fate, zone);
  const path = battery
    ? battery.path === "flat"
      ? `The battery had fallen to ${battery.last} mV${battery.cutOffReported ? " and the unit reported its cut-off" : ""}`
      : `The battery still had ${battery.last} mV`
    : null;
  if (comeback === null) {
    if (!battery) return null;
    return seen("battery-before", [battery.path], `${path} when the record stopped.`);
  }
  const values = restartValues(comeback.reset, battery?.path ?? null);
  if (values === null) return null;
  return seen(
    "power",
    values,
    `${path ? `${path} when the record stopped; on` : "On"} return the unit ${restartWords[comeback.reset]}.`,
  );
}

function ranOn(context: GapContext, fate: "delivered" | "owed" | "lost", zone: ZoneName): Seen {
  const sentence = {
    delivered: `The unit had recorded all the while; what it kept arrived late${context.filledAt ? `, by ${spokenMoment(context.filledAt, zone)}` : ""}.`,
    owed: "The unit's numbering runs on across the gap: it was recording, and still owes us those messages.",
    lost: "The unit's numbering runs on across the gap: it was recording, but its own store filled and wrote over the oldest messages.",
  }[fate];
  return seen("power", [`ran-on-${fate}`], sentence);
}

const restartWords = {
  "power-on": "started from cold",
  "brown-out": "restarted after its supply had sagged",
  watchdog: "had restarted itself after hanging",
  software: "had restarted itself",
  "user-off": "reported being switched off by its button",
  unknown: "restarted without saying why",
} as const;

/** Which joint values a restart is compatible with; null where it says nothing. */
function restartValues(
  reset: keyof typeof restartWords,
  path: "flat" | "plenty" | null,
): readonly string[] | null {
  switch (reset) {
    case "watchdog":
    case "software":
      return ["self-restart"];
    case "user-off":
      return ["off-by-hand"];
    case "brown-out":
      return path === "flat"
        ? ["flat-restart"]
        : path
          ? ["plenty-brown-out"]
          : ["flat-restart", "plenty-brown-out"];
    case "power-on":
      return path === "flat"
        ? ["flat-restart"]
        : path
          ? ["plenty-power-on"]
          : ["flat-restart", "plenty-power-on"];
    case "unknown":
      return path === "flat"
        ? ["flat-restart"]
        : path
          ? ["plenty-brown-out", "plenty-power-on", "self-restart", "off-by-hand"]
          : null;
  }
}

/** With plenty left in the battery it doesn't matter when it was last charged. */
function sinceCharge({ sinceCharge: clue, battery }: GapContext): Seen | null {
  if (!clue || battery?.path === "plenty") return null;
  const overdue = clue.hours > clue.usual * 1.3;
  const said = (hours: number) => spokenLength(hours * millisecondsIn.hour);
  return seen(
    "since-charge",
    [overdue ? "overdue" : "usual"],
    `It was last charged ${said(clue.hours)} before; the usual time between charges here is ${said(clue.usual)}.`,
  );
}

function charging({ charging: clue, battery }: GapContext): Seen | null {
  if (!clue || battery?.path === "plenty") return null;
  return clue.state === "broken"
    ? seen(
        "charging",
        ["broken"],
        `In the three days before, charging broke off within minutes ${clue.times} times.`,
      )
    : seen("charging", ["whole"], "Charging went without breaking off in the three days before.");
}

function capacity({ capacity: clue }: GapContext): Seen | null {
  if (!clue) return null;
  return clue.state === "faded"
    ? seen(
        "capacity",
        ["faded"],
        "The battery of this unit has faded: it holds clearly less than it is rated for.",
      )
    : seen("capacity", ["sound"], "The battery of this unit was last found sound.");
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

function stateBefore({ before, span }: GapContext, zone: ZoneName): Seen | null {
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
