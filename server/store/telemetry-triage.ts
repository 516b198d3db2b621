import { createHash } from "node:crypto";
import { decodeUplink } from "../../firmware-protocol/src/decode.ts";
import type { Envelope, UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import { uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import type { IncomingMessage } from "./telemetry-port.ts";

/** A message that is what it should be, or one to keep aside with the clause it breaks and why. */
export type Triaged = ReadableMessage | AsideMessage;

export interface ReadableMessage {
  readonly kind: "readable";
  readonly incoming: IncomingMessage;
  readonly message: UplinkMessage;
}

export interface AsideMessage {
  readonly kind: "aside";
  readonly incoming: IncomingMessage;
  readonly clause: string;
  readonly reason: string;
  /** Set when the message names itself and is the sender's own: we hold its bytes, so the unit may forget it. */
  readonly name: { readonly boot: number; readonly sequence: number } | null;
}

/** Never throws: a decoder that does is our fault, and no reason to lose the message or hold up its neighbours. */
export function triage(incoming: IncomingMessage): Triaged {
  try {
    return judged(incoming);
  } catch (fault) {
    return aside(incoming, null, "internal", `Could not be read: ${reasonOf(fault)}`);
  }
}

/** The bytes' name, for telling a resend of something kept aside from something new. */
export const digestOf = (payload: Uint8Array): string => createHash("sha256").update(payload).digest("hex");

export const aside = (
  incoming: IncomingMessage,
  envelope: Envelope | null,
  clause: string,
  reason: string,
): AsideMessage => ({
  kind: "aside",
  incoming,
  clause,
  reason,
  name: envelope?.unit === incoming.unit ? { boot: envelope.boot, sequence: envelope.sequence } : null,
});

function judged(incoming: IncomingMessage): Triaged {
  const message = decodeUplink(incoming.payload);
  if (message.kind === "unreadable") {
    return aside(incoming, message.envelope, message.clause, message.reason);
  }
  if (message.unit !== incoming.unit) {
    return aside(incoming, null, "FP-2.1", "The message names another unit than its sender's certificate.");
  }
  if (incoming.topic !== uplinkTopic(message.unit, message.kind)) {
    return aside(
      incoming,
      message,
      "FP-2.1",
      `A ${message.kind} message came on another topic than its own.`,
    );
  }
  return { kind: "readable", incoming, message };
}

const reasonOf = (fault: unknown): string => (fault instanceof Error ? fault.message : String(fault));
