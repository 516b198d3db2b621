import { isSerial } from "../../firmware-protocol/src/topics.ts";
import { type UnitSerial, unitSerial } from "../domain/ids.ts";

/** What this service asks of a broker in front: everything any unit publishes. */
export const uplinkOfAll = "cushion/1/+/up/+";

/** The broker in front holds each unit to its own root (FP-2.9), so the topic names the sender.
 *  @returns null for a topic that is no unit's */
export function senderNamedBy(topic: string): UnitSerial | null {
  const named = /^cushion\/1\/([^/]+)\/up\/[^/]+$/.exec(topic)?.[1];
  return named !== undefined && isSerial(named) ? unitSerial(named) : null;
}
