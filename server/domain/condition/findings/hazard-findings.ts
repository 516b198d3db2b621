import type { FaultCode } from "../../record/unit-record.ts";
import { probability } from "../../units.ts";
import type { UnitHealth } from "../unit-health.ts";
import type { FoundNow } from "./found-now.ts";

/** How far a unit's own alarm is believed. Assumption: high, for the cost of not acting is a burn. */
const alarmBelieved = { heat: probability(0.9), wet: probability(0.85) };

/** Heat and wet electronics come before everything: somebody sits on this. The words are the usual cautions for lithium
 *  cells (common practice); local policy and the maker's instructions win. */
export function hazardFindings({ faults, charge: { heat } }: UnitHealth): FoundNow[] {
  const latest = (codes: readonly FaultCode[]) => faults.findLast((fault) => codes.includes(fault.code));
  const wet = latest(["wet"]);
  const found: FoundNow[] = [];
  if (heat)
    found.push({
      kind: "charge-heat",
      where: "",
      level: "act-now",
      probability: alarmBelieved.heat,
      since: heat.at,
      sentence:
        "The cell was hot. Stop charging, do not press or open it, move it off the seat or bed if that is safe, into a ventilated place. Fire: leave and call the emergency service.",
      mistakenFor: "a charger under a blanket, or a hot room",
      settledBy:
        "A look by phone with the script, without pressing; then the bench, never by an ordinary van.",
    });
  if (wet)
    found.push({
      kind: "wet",
      where: "",
      level: "act-now",
      probability: alarmBelieved.wet,
      since: wet.at,
      sentence:
        "The unit says it is wet. Stop charging it until it has been looked at; do not open or post it.",
      mistakenFor: "a long warm sit",
      settledBy: "An empty reading and a look under the cover. Handle continence kindly.",
    });
  return found;
}
