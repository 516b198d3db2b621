import { createHash, createHmac } from "node:crypto";
import { inGroups, typedCodeFrom } from "../domain/enrolment/typed-code.ts";
import type { PairingCodeId } from "../domain/ids.ts";

/** The typed form of a code: HMAC-SHA-256 (RFC 2104) of its one-time id, in the letters of the typed alphabet. Whoever
 *  has the registry but not the key can't make it. @returns without hyphens */
export function typedFormOf(id: PairingCodeId, key: Uint8Array): string {
  const digest = createHmac("sha256", key).update(`typed pairing code\n${id}`).digest("hex");
  return typedCodeFrom(BigInt(`0x${digest}`));
}

/** As printed under the picture. */
export const printedTypedForm = (id: PairingCodeId, key: Uint8Array): string =>
  inGroups(typedFormOf(id, key));

/** What the registry keeps of it. */
export const typedFormHash = (typed: string): string => createHash("sha256").update(typed).digest("hex");
