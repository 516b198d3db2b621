import type { PowerEventKind } from "../record/told-events.ts";
import type { FaultCode } from "../record/unit-record.ts";

const hazardous: ReadonlySet<FaultCode | PowerEventKind> = new Set([
  "charge-too-hot",
  "charge-too-cold",
  "cell-hot",
  "wet",
  // It may be a sudden early one.
  "battery-cut-off",
  "cut-off",
]);

/** What a unit says that can't wait: somebody sits on it. */
export const isHazardous = (what: FaultCode | PowerEventKind): boolean => hazardous.has(what);
