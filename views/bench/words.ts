import type { ConditionLevel, FindingKind } from "../../server/domain/condition/condition.ts";
import { localTimeOf, type ZoneName } from "../../server/domain/time/local-day.ts";
import type { Instant } from "../../server/domain/units.ts";
import { dayWords } from "../layout/words.ts";

export const levelWords = {
  sound: "sound",
  watch: "watch",
  "act-soon": "act soon",
  "act-now": "act now",
} as const satisfies Record<ConditionLevel, string>;

/** A mark beside the word, so that the level survives a fax. */
export const levelMarks = {
  sound: "✓",
  watch: "○",
  "act-soon": "▲",
  "act-now": "⚠",
} as const satisfies Record<ConditionLevel, string>;

export const findingNames = {
  "row-open": "A row that doesn’t answer",
  "column-open": "A column that doesn’t answer",
  "cell-open": "A cell that doesn’t answer",
  "cell-stuck": "A stuck cell",
  "lines-shorted": "Two lines that touch",
  "connector-loose": "A line that comes and goes",
  moisture: "Moisture",
  "insert-turned": "The insert lies turned",
  "insert-shifted": "The load lies elsewhere",
  "insert-folded": "A folded edge",
  "foam-bottoming": "Foam that gives out",
  "cover-loose": "A loose cover",
  "zero-drift": "The empty reading drifts",
  "gain-or-weight": "The load has changed",
  "capacity-fade": "A charge lasts shorter",
  "flat-battery": "The battery ran flat",
  "resistance-rise": "A cell that resists more",
  "self-discharge": "It loses charge switched off",
  "flat-soon": "Flat before its next usual charge",
  "charge-heat": "Heat",
  wet: "Wet",
  "wet-on-charge": "Wet while charging",
  "charge-outside-limits": "Charged outside its limits",
  "charge-cold": "Too cold to charge",
  "early-cut-off": "An early cut-off",
  "self-test-failed": "Its own test failed",
  "weak-link": "A weak link",
  "signal-fading": "A signal that fades",
  "link-comes-and-goes": "A link that comes and goes",
  "reset-loop": "Restarts",
  "store-overrun": "Records lost",
  "two-devices": "Two devices under one name",
} as const satisfies Record<FindingKind, string>;

/** The one next step as a button, and the part of the unit's page it leads to. */
export function nextStepFor(kind: FindingKind): { readonly words: string; readonly part: string } {
  switch (kind) {
    case "charge-heat":
    case "wet":
    case "wet-on-charge":
    case "charge-outside-limits":
    case "early-cut-off":
      return { words: "Make it safe", part: "findings" };
    case "charge-cold":
      return { words: "Check its battery", part: "battery" };
    case "self-test-failed":
    case "row-open":
    case "column-open":
    case "cell-open":
    case "cell-stuck":
    case "lines-shorted":
    case "connector-loose":
      return { words: "Test its grid", part: "grid" };
    case "moisture":
    case "insert-turned":
    case "insert-shifted":
    case "insert-folded":
    case "foam-bottoming":
    case "cover-loose":
      return { words: "Look at the seat", part: "grid" };
    case "zero-drift":
    case "gain-or-weight":
      return { words: "Check it empty", part: "drift" };
    case "capacity-fade":
    case "flat-battery":
    case "flat-soon":
    case "resistance-rise":
    case "self-discharge":
      return { words: "Check its battery", part: "battery" };
    case "two-devices":
      return { words: "Find the other device", part: "findings" };
    case "weak-link":
    case "signal-fading":
    case "link-comes-and-goes":
    case "reset-loop":
    case "store-overrun":
      return { words: "Check its link", part: "link" };
  }
}

/** "3 May", for the labels of a chart whose caption names the year. */
export const shortDay = (at: Instant, zone: ZoneName): string =>
  dayWords(localTimeOf(at, zone).day).replace(/^(\d+) (.{3}).*$/, "$1 $2");

/** "57 %". */
export const percent = (share: number): string => `${Math.round(100 * share)} %`;
