import type { LinkQuality } from "../../link/link-quality.ts";
import type { ResetReason } from "../../record/unit-record.ts";
import { millisecondsIn, probability } from "../../units.ts";
import type { UnitHealth } from "../unit-health.ts";
import type { FoundNow } from "./found-now.ts";

/** Share of recorded time without a relay, and signal, from which a link is called weak. Assumptions. */
const oftenWithout = 0.1;
const weakSignal = -88;
/** Restarts in the time looked at from which they are no accident. Assumption. */
const loopFrom = 6;
/** Assumptions: being out looks like a weak link, and a switch pressed looks like nothing else. */
const believed = { weak: probability(0.8), loop: probability(0.9), overrun: probability(0.99) };

export function linkFindings({ link }: UnitHealth): FoundNow[] {
  return [...weak(link), ...fadingSignal(link), ...comesAndGoes(link), ...overrun(link), ...loop(link)];
}

function weak(link: LinkQuality): FoundNow[] {
  const without = link.recordedMinutes === 0 ? 0 : link.minutesWithoutRelay / link.recordedMinutes;
  const faint = link.medianSignal !== null && link.medianSignal < weakSignal;
  if (without <= oftenWithout && !faint) return [];
  const first = link.days.find(
    (day) => day.recordedMinutes > 0 && day.minutesWithoutRelay > oftenWithout * day.recordedMinutes,
  );
  return [
    {
      kind: "weak-link",
      where: "",
      level: "watch",
      probability: believed.weak,
      since: first?.start ?? link.over.start,
      sentence: `The unit had no relay to talk to for ${Math.round(100 * without)} % of the time it recorded${faint ? `, and half of its signals were below ${signalWords(link.medianSignal)}` : ""}. What it records comes late, not never.`,
      mistakenFor: "somebody often out",
      settledBy: "A call first; then the relay nearer, and a look at its power.",
    },
  ];
}

function overrun({ loss: { messages, share }, firstLossAt }: LinkQuality): FoundNow[] {
  if (messages === 0 || firstLossAt === null) return [];
  return [
    {
      kind: "store-overrun",
      where: "",
      level: "watch",
      probability: believed.overrun,
      since: firstLossAt,
      sentence: `Its own store ran over: ${messages === 1 ? "1 message is" : `${messages} messages are`} lost for good${share < 0.01 ? "" : `, ${Math.round(100 * share)} % of what it recorded`}.`,
      mistakenFor: "days away",
      settledBy: "Buffer arithmetic: how long it was without a link against what its store holds.",
    },
  ];
}

const reasonWords: Readonly<Record<ResetReason, string>> = {
  "power-on": "switched on",
  "brown-out": "its voltage had broken down with charge left",
  watchdog: "it had hung",
  software: "it restarted itself",
  "user-off": "it had been switched off",
  unknown: "it doesn’t know why",
};

/** With a true minus, as everywhere. */
const signalWords = (level: number | null): string =>
  level === null ? "" : `${level < 0 ? "−" : ""}${Math.abs(level)} dBm`;

/** A restart after a flat cell is the battery's, and told there. */
function loop({ restarts: { unwanted, firstUnwantedAt, unwantedBy } }: LinkQuality): FoundNow[] {
  if (unwanted < loopFrom || firstUnwantedAt === null) return [];
  const reasons = [...unwantedBy].sort(([, a], [, b]) => b - a);
  const mostly = reasons[0]?.[0];
  const told =
    reasons.length === 1 && mostly
      ? `each time because ${reasonWords[mostly]}`
      : reasons.map(([reason, times]) => `${times} times because ${reasonWords[reason]}`).join(", ");
  return [
    {
      kind: "reset-loop",
      where: "",
      level: "act-soon",
      probability: believed.loop,
      since: firstUnwantedAt,
      sentence: `It restarted ${unwanted} times without being asked to: ${told}.`,
      mistakenFor:
        mostly === "brown-out" ? "a worn cell or a charger that drops out" : "being switched on and off",
      settledBy:
        mostly === "brown-out"
          ? "The battery plug reseated and a known-good charger; then the bench’s battery check."
          : "Its log read over a cable; the same firmware in another unit; then other electronics.",
    },
  ];
}

/** Steady fall worth a row: what a doorway or a season does is less. Assumptions. */
const fading = { perWeek: -1, overAll: -6 };
const fadingBelieved = probability(0.85);

function fadingSignal({ signalTrend, over, days, medianSignal }: LinkQuality): FoundNow[] {
  const weeks = (over.end - over.start) / (7 * 24 * millisecondsIn.hour);
  if (signalTrend === null || signalTrend.high > fading.perWeek) return [];
  if (signalTrend.best * weeks > fading.overAll) return [];
  return [
    {
      kind: "signal-fading",
      where: "",
      level: "watch",
      probability: fadingBelieved,
      since: days[0]?.start ?? over.start,
      sentence: `Its signal falls by ${Math.abs(signalTrend.high).toFixed(1)} to ${Math.abs(signalTrend.low).toFixed(1)} dB a week (90 %)${medianSignal === null ? "" : `, now about ${signalWords(medianSignal)} in the middle`}. When it no longer reaches the relay its record comes late.`,
      mistakenFor: "a chair or a relay that now stands elsewhere",
      settledBy:
        "A call: where do chair and relay stand? Then the signal read with the relay beside the unit.",
    },
  ];
}

/** Once an hour is no being out. Assumption. */
const oftenBack = 24;
const comesAndGoesBelieved = probability(0.85);

function comesAndGoes({ relays: { busiest, relayStarts, linkLost, backInTouch } }: LinkQuality): FoundNow[] {
  if (busiest === null || busiest.times < oftenBack) return [];
  const relay =
    relayStarts > 0 || linkLost > 0
      ? ` The relay had been off ${relayStarts} times and lost its own link ${linkLost} times.`
      : "";
  return [
    {
      kind: "link-comes-and-goes",
      where: "",
      level: "watch",
      probability: comesAndGoesBelieved,
      since: busiest.start,
      sentence: `It was in touch again ${busiest.times} times in one day, ${backInTouch} times in all.${relay} Each time costs charge; nothing is lost.`,
      mistakenFor: "somebody who goes in and out of reach all day",
      settledBy:
        relayStarts > 0
          ? "The relay’s own supply and plug."
          : "The relay nearer for a day; then another relay.",
    },
  ];
}
