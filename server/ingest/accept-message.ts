import { topicRoot } from "../../firmware-protocol/src/topics.ts";
import type { UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { IncomingMessage } from "../store/telemetry-port.ts";

/** The one way in for a message, whoever carried it: our own broker, or a subscription to any standard broker that
 *  stands in front and has checked the certificate. Such a broker acknowledges before we have stored anything, which
 *  loses nothing: a unit forgets a message only on the receipt that follows our commit. It must hold each unit to its
 *  own topics (a pattern on the certificate's common name); the sender is then the unit the topic names. */
export type Acceptance =
  | { readonly kind: "accepted"; readonly message: IncomingMessage }
  | { readonly kind: "refused"; readonly reason: string };

/** A kind we don't know yet is let in: the store keeps it aside with the reason, and newer firmware isn't locked out. */
const kindName = /^[a-z][a-z0-9-]{0,31}$/;

export function acceptMessage(
  sender: UnitSerial,
  topic: string,
  payload: Uint8Array,
  receivedAt: Instant,
): Acceptance {
  const own = `${topicRoot(sender)}/up/`;
  if (!topic.startsWith(own) || !kindName.test(topic.slice(own.length))) {
    return { kind: "refused", reason: "a unit may publish only under its own up/ topics" };
  }
  return { kind: "accepted", message: { unit: sender, topic, receivedAt, payload } };
}
