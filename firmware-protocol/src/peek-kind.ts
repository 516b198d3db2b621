import { messageCodes } from "./envelope.ts";
import type { UplinkKind } from "./messages.ts";
import { uplinkKinds } from "./topics.ts";

const kindsByCode: readonly UplinkKind[] = uplinkKinds.reduce<UplinkKind[]>((kinds, kind) => {
  kinds[messageCodes[kind]] = kind;
  return kinds;
}, []);

/** What a stored message is, from its first five bytes: the head of a map of fewer than 24 entries, key 0 and the version,
 *  key 1 and the code, one byte each in the one form that is allowed [FP-3.4]. Says nothing of whether the rest can be
 *  read.
 *  @param at where the message begins among the bytes
 *  @returns null where they are not these: whoever wants to know decodes it */
export function peekKind(bytes: Uint8Array, at = 0): UplinkKind | null {
  const head = bytes[at] ?? 0;
  const isHeader =
    head >= 0xa0 && head < 0xb8 && bytes[at + 1] === 0 && (bytes[at + 2] ?? 24) < 24 && bytes[at + 3] === 1;
  return isHeader ? (kindsByCode[bytes[at + 4] ?? 0] ?? null) : null;
}
