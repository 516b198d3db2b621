import type { ZoneName } from "../time/local-day.ts";
import type { Comeback, GapContext } from "./gap-context.ts";
import type { gapLikelihoods } from "./gap-likelihoods.ts";
import type { Observation } from "./observation.ts";
import { spokenHours, spokenMoment } from "./spoken.ts";

/** What the battery, its charges and the restart say of a gap. */
type PowerSeen = Observation & { readonly clue: keyof typeof gapLikelihoods };

const seen = (clue: PowerSeen["clue"], values: readonly string[], sentence: string): PowerSeen => ({
  clue,
  values,
  sentence,
});

export function power(context: GapContext, zone: ZoneName): PowerSeen | null {
  const { comeback, battery } = context;
  if (comeback?.kind === "ran-on") return ranOn(context, comeback, zone);
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

function ranOn(
  context: GapContext,
  { fate, unbroken }: Extract<Comeback, { kind: "ran-on" }>,
  zone: ZoneName,
): PowerSeen {
  const throughout = unbroken && fate !== "delivered" ? " It never stopped in between." : "";
  const sentence = {
    delivered: `The unit had recorded all the while; what it kept arrived late${context.filledAt ? `, by ${spokenMoment(context.filledAt, zone)}` : ""}.`,
    owed: "The unit's numbering runs on across the gap: it was recording, and still owes us those messages.",
    lost: "The unit's numbering runs on across the gap: it was recording, but its own store filled and wrote over the oldest messages.",
  }[fate];
  return seen("power", [throughout === "" ? `ran-on-${fate}` : `unbroken-${fate}`], sentence + throughout);
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

/** Less of a sound cell's charge than this is used up, more than the second is a good part of it. Assumptions. */
const usedUp = 0.12;
const goodPart = 0.35;

/** What the charges that were seen say of a cell that ran flat. Where a full charge was seen, what a sound cell would
 *  still have held; else only whether a charge was due. With plenty left it says nothing. */
export function charge({ chargeLeft, neverFullIn, sinceCharge, battery }: GapContext): PowerSeen | null {
  if (battery?.path === "plenty") return null;
  if (chargeLeft) {
    const value =
      chargeLeft.share < usedUp ? "used-up" : chargeLeft.share < goodPart ? "some-left" : "much-left";
    const since = spokenHours(chargeLeft.sinceCharge);
    const left = Math.round(chargeLeft.share * 10) * 10;
    return seen(
      "charge-left",
      [value],
      value === "used-up"
        ? `By the charges that were seen, the last of them ${since} before, a sound battery would have been about empty too.`
        : `By the charges that were seen, the last of them ${since} before, a sound battery would still have held about ${left} %.`,
    );
  }
  if (neverFullIn)
    return seen(
      "charge-left",
      ["never-full"],
      `In the ${neverFullIn} days of record before, no charge was seen that would have filled it.`,
    );
  if (!sinceCharge) return null;
  const overdue = sinceCharge.hours > sinceCharge.usual * 1.3;
  return seen(
    "since-charge",
    [overdue ? "overdue" : "usual"],
    `It was last charged ${spokenHours(sinceCharge.hours)} before; the usual time between charges here is ${spokenHours(sinceCharge.usual)}.`,
  );
}

export function charging({ charging: clue, battery }: GapContext): PowerSeen | null {
  if (!clue || battery?.path === "plenty") return null;
  return clue.state === "broken"
    ? seen(
        "charging",
        ["broken"],
        `In the three days before, charging broke off within minutes ${clue.times} times.`,
      )
    : seen("charging", ["whole"], "Charging went without breaking off in the three days before.");
}

export function capacity({ capacity: clue }: GapContext): PowerSeen | null {
  if (!clue) return null;
  return clue.state === "faded"
    ? seen(
        "capacity",
        ["faded"],
        "The battery of this unit has faded: a charge lasts clearly less long than it should.",
      )
    : seen("capacity", ["sound"], "The battery of this unit was last found sound.");
}

/** Under this a thing is unlikely, under the second hardly to be believed. Assumptions. */
const unlikely = 0.2;
const hardly = 0.02;

/** A gap that the unit recorded through says nothing of charges. */
export function charges({ usualCharges: clue, comeback }: GapContext): PowerSeen | null {
  if (!clue || comeback?.kind === "ran-on") return null;
  const value = clue.chance < hardly ? "hardly" : clue.chance < unlikely ? "unlikely" : "could-be";
  return seen(
    "usual-charges",
    [value],
    `It lasted ${clue.days} ${clue.days === 1 ? "day" : "days"}; on ${clue.charged} of the ${clue.of} days seen before, somebody charged it.`,
  );
}
