import { millisecondsIn } from "../../../server/domain/units.ts";
import type { GapContext } from "../../../server/domain/verdicts/gap-context.ts";
import type { Side } from "../../../server/domain/verdicts/verdict.ts";

/** What people do without a model. The longer it lasts, the more it is the person. */
export function longestGapRule({ span }: GapContext): Side {
  const hours = (span.end - span.start) / millisecondsIn.hour;
  return hours < 4 ? "link" : hours < 24 ? "device" : "person";
}

/** A low battery is the battery; else no signal, or a record that came after all, is the link; else the person. */
export function batteryThenLinkRule({ battery, signal, comeback }: GapContext): Side {
  if (battery?.path === "flat") return "handling";
  if (signal?.level === "none" || signal?.level === "weak" || comeback?.kind === "ran-on") return "link";
  return "person";
}
