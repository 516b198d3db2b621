import type { LinkQuality } from "../../link/link-quality.ts";
import { probability } from "../../units.ts";
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
  return [...weak(link), ...overrun(link), ...loop(link)];
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
      sentence: `The unit had no relay to talk to for ${Math.round(100 * without)} % of the time it recorded${faint ? `, and half of its signals were below ${link.medianSignal} dBm` : ""}. What it records comes late, not never.`,
      mistakenFor: "somebody often out",
      settledBy: "A call first; then the relay nearer, and a look at its power.",
    },
  ];
}

function overrun({ messagesLost, firstLossAt }: LinkQuality): FoundNow[] {
  if (messagesLost === 0 || firstLossAt === null) return [];
  return [
    {
      kind: "store-overrun",
      where: "",
      level: "watch",
      probability: believed.overrun,
      since: firstLossAt,
      sentence: `Its own store ran over: ${messagesLost === 1 ? "1 message is" : `${messagesLost} messages are`} lost for good.`,
      mistakenFor: "days away",
      settledBy: "Buffer arithmetic: how long it was without a link against what its store holds.",
    },
  ];
}

function loop({ unwantedRestarts, firstUnwantedRestartAt }: LinkQuality): FoundNow[] {
  if (unwantedRestarts < loopFrom || firstUnwantedRestartAt === null) return [];
  return [
    {
      kind: "reset-loop",
      where: "",
      level: "act-soon",
      probability: believed.loop,
      since: firstUnwantedRestartAt,
      sentence: `It restarted ${unwantedRestarts} times without being asked to.`,
      mistakenFor: "being switched on and off",
      settledBy: "Reset reasons in the log; a known-good charger; a connector check.",
    },
  ];
}
