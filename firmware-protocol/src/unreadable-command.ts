import { isCborMap } from "./cbor/item.ts";
import { readCbor } from "./cbor/read.ts";
import { writeCbor } from "./cbor/write.ts";
import { decodeDownlink } from "./decode.ts";
import { commandActions } from "./downlink.ts";
import { messageCodes } from "./envelope.ts";
import { isLabel } from "./field.ts";
import { maximumDepth, maximumDownlinkBytes, protocolVersion } from "./limits.ts";

const key = { version: 0, message: 1, id: 16, action: 18 } as const;

/** A command that can't be carried out but can be answered [FP-11.5]. */
export interface UnreadableCommand {
  readonly id: string;
  readonly reason: "unsupported" | "unreadable";
}

/** What can be answered to bytes from `down/command` that `decodeDownlink` refused.
 *  @returns null where not even the id can be read: they are to be ignored [FP-7.9] */
export function readUnreadableCommand(bytes: Uint8Array): UnreadableCommand | null {
  if (bytes.length > maximumDownlinkBytes) return null;
  const reading = readCbor(bytes, { deterministic: true, maximumDepth });
  const entries = reading.kind === "problem" ? reading.partial : reading.item;
  if (entries === null || !isCborMap(entries)) return null;
  const id = entries.get(key.id);
  const isCommand =
    entries.get(key.version) === protocolVersion && entries.get(key.message) === messageCodes.command;
  if (!isCommand || typeof id !== "string" || !isLabel(id)) return null;
  const action = entries.get(key.action);
  const isNewAction = typeof action === "number" && action >= commandActions.length;
  if (reading.kind === "problem" || !isNewAction) return { id, reason: "unreadable" };
  const withKnownAction = new Map(entries).set(key.action, commandActions.indexOf("report"));
  const restIsGood = decodeDownlink(writeCbor(withKnownAction)).kind === "command";
  return { id, reason: restIsGood ? "unsupported" : "unreadable" };
}
