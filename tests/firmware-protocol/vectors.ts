import { readFileSync } from "node:fs";
import { z } from "zod";
import { decodeDownlink, decodeUplink } from "../../firmware-protocol/src/decode.ts";
import type { DownlinkMessage } from "../../firmware-protocol/src/downlink.ts";
import { encodeDownlink, encodeUplink } from "../../firmware-protocol/src/encode.ts";
import type { UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import type { Unreadable } from "../../firmware-protocol/src/unreadable.ts";

const hex = z.string().regex(/^([0-9a-f]{2})*$/);
const direction = z.enum(["up", "down"]);
const acceptedSchema = z.object({
  name: z.string(),
  clauses: z.array(z.string()),
  direction,
  hex,
  message: z.record(z.string(), z.json()),
  writesBack: z.boolean(),
});
const rejectedSchema = z.object({
  name: z.string(),
  clause: z.string(),
  field: z.string(),
  direction,
  hex,
  envelope: z.record(z.string(), z.json()).nullable(),
});

const load = (name: string): unknown =>
  JSON.parse(readFileSync(new URL(`../../firmware-protocol/vectors/${name}`, import.meta.url), "utf8"));

export const accepted = z.array(acceptedSchema).parse(load("accepted.json"));
export const rejected = z.array(rejectedSchema).parse(load("rejected.json"));

const name = z.tuple([z.number(), z.number()]);
/** Receipts, and which of the messages still held may be forgotten on them: boot and sequence. */
export const forgetting = z
  .array(z.object({ name: z.string(), receipt: hex, held: z.array(name), forgets: z.array(name) }))
  .parse(load("forgetting.json"));

export type Direction = z.infer<typeof direction>;
export const bytesOf = (text: string): Uint8Array => Uint8Array.from(Buffer.from(text, "hex"));
export const hexOf = (bytes: Uint8Array): string => Buffer.from(bytes).toString("hex");

export const decode = (way: Direction, bytes: Uint8Array): UplinkMessage | DownlinkMessage | Unreadable =>
  way === "up" ? decodeUplink(bytes) : decodeDownlink(bytes);

/** @throws where the message is none, or breaks the protocol */
export function encode(message: UplinkMessage | DownlinkMessage | Unreadable): Uint8Array {
  switch (message.kind) {
    case "unreadable":
      throw new Error(message.reason);
    case "receipt":
    case "plan":
    case "command":
    case "certificate":
      return encodeDownlink(message);
    case "hello":
    case "minutes":
    case "relief":
    case "frame":
    case "fault":
    case "power":
    case "relay":
    case "self-test":
    case "prompt":
    case "notice":
    case "result":
    case "renewal":
      return encodeUplink(message);
  }
}

/** A message as the vectors and SPEC.md write it in JSON: a byte string as hexadecimal text. */
export const asJson = (message: object): unknown =>
  JSON.parse(JSON.stringify(message, (_name, value) => (value instanceof Uint8Array ? hexOf(value) : value)));
