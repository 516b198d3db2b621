import type { gapLikelihoods } from "./gap-likelihoods.ts";
import type { thinLikelihoods } from "./likelihoods.ts";

type Words<Tables> = {
  readonly [Clue in keyof Tables]: Tables[Clue] extends { readonly values: infer Values }
    ? Readonly<Record<keyof Values, string>>
    : never;
};

/** Each value of each clue of a gap as a clause: what would have been found. */
export const gapClueWords: Words<typeof gapLikelihoods> = {
  together: {
    alone: "no other units fell silent with it",
    several: "several other units fell silent with it",
    nearby: "other units in the same area fell silent with it, and hardly any elsewhere",
    most: "most other units fell silent with it",
    "others-back": "other units fell silent with it and were back long before it",
  },
  power: {
    "flat-restart": "its cell had run flat and it started anew",
    "plenty-brown-out": "its cell was well charged and its supply sagged all the same",
    "plenty-power-on": "its cell was well charged and it started from cold",
    "self-restart": "it had restarted itself after hanging",
    "off-by-hand": "it reported being switched off by its button",
    "ran-on-delivered": "its numbering ran on and the missing messages came in",
    "ran-on-lost": "its numbering ran on and its store had written over the missing messages",
    "unbroken-lost": "it never stopped, and its store had written over the missing messages",
    "unbroken-owed": "it never stopped, and still owed the missing messages",
    "ran-on-owed": "its numbering ran on and it still owed the missing messages",
  },
  "battery-before": {
    flat: "its cell was nearly empty when the record stopped",
    plenty: "its cell was well charged when the record stopped",
  },
  "since-charge": {
    usual: "it had been charged as lately as usual here",
    overdue: "a charge was overdue",
  },
  "charge-left": {
    "much-left": "a sound cell would have had much of its charge left",
    "some-left": "a sound cell would have had some of its charge left",
    "used-up": "a sound cell would have been used up as well",
    "never-full": "no charge in the days before would have filled its cell",
  },
  "usual-charges": {
    "could-be": "so long without a charge is not unusual here",
    unlikely: "so long without a charge is unlikely here",
    hardly: "so long without a charge hardly ever happens here",
  },
  charging: {
    broken: "its charging broke off again and again in the days before",
    whole: "its charging was whole in the days before",
  },
  capacity: { faded: "its cell no longer holds what it should", sound: "its cell holds what it should" },
  signal: {
    none: "the unit had lost its relay just before",
    weak: "the relay was only just in reach before",
    fine: "the relay was well in reach before",
  },
  relay: {
    "said-down": "the relay itself said that its link was down",
    restarted: "the relay itself started anew meanwhile",
    another: "the unit came back through another relay",
    up: "the relay had its link before",
  },
  "state-before": {
    seated: "someone was seated when the record stopped",
    off: "nobody was seated when the record stopped",
    "on-charge": "it was on charge when the record stopped",
    "long-empty": "nobody had sat on it for far longer than usual when the record stopped",
  },
  "state-after": {
    seated: "someone was seated when the record came back",
    off: "nobody was seated when the record came back",
    "on-charge": "it was on charge when the record came back",
  },
  temperature: {
    colder: "the insert came back much colder",
    same: "the insert came back at the temperature it had before",
  },
  note: {
    hospital: "a hospital stay is noted for this time",
    holiday: "a holiday is noted for this time",
    "washed-cover": "a washed cover is noted for this time",
    visit: "a visit is noted for this time",
    none: "no note covers this time",
  },
  hour: { night: "it began at night", day: "it began by day" },
  certificate: {
    refused: "the unit's certificate had run out or been revoked",
    good: "the unit's certificate was good throughout",
  },
  electronics: {
    signs: "the unit has signs of restarts, heat or wet",
    "no-sign": "the unit has no sign of restarts, heat or wet",
  },
};

/** The same for a thin stretch. */
export const thinClueWords: Words<typeof thinLikelihoods> = {
  eyes: {
    "hides-usual": "part of the grid hides a way of relief they often use",
    "dead-elsewhere": "part of the grid is dead, and hides no way of relief they often use",
    drift: "the sensor's readings were off",
    "insert-off": "the insert was found turned, shifted or folded",
    sound: "the grid was sound",
  },
  change: {
    "usually-few": "few reliefs were recorded in earlier days too",
    isolated: "this stretch stands alone among days like the earlier ones",
    "dropped-one-direction": "one way of relief vanished and the others went on",
    "dropped-swapped": "leans to one side vanished and came on the other instead",
    "dropped-all": "every way of relief became rarer at once",
  },
  "how-long": {
    three: "no more than three reliefs fell due in it",
    more: "more than three reliefs fell due in it",
  },
  prompts: {
    fading: "fewer reliefs followed a prompt than before, and the others held",
    holding: "as many reliefs followed a prompt as before",
  },
  tries: {
    "counted-before": "reliefs were recorded in it that the plan before would have counted",
    some: "short or broken-off reliefs were recorded in it",
    none: "no short or broken-off relief was recorded in it",
  },
  load: {
    same: "load and centre were as usual for them",
    different: "the load was not what this cushion usually carries",
    turned: "the load lay on the other side of the seat",
  },
  note: {
    "washed-cover": "a washed cover is noted in the days before",
    "new-chair": "a new chair is noted in the days before",
    visit: "a visit is noted in the days before",
    none: "no note falls in the days before",
  },
  plan: {
    changed: "the relief plan had changed in the four weeks before",
    same: "the relief plan had not changed in the four weeks before",
  },
};
