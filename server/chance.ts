import { randomBytes } from "node:crypto";

/** The only source of chance: identifiers and secrets. Tests inject a repeatable one. */
export interface Chance {
  bytes(count: number): Uint8Array;
}

export const systemChance: Chance = { bytes: (count) => randomBytes(count) };

// Crockford's base 32 without the vowels and look-alikes that spell or mislead.
const alphabet = "0123456789bcdfghjkmnpqrstvwxyzae";

/** A random identifier of 20 letters, 100 bits, prefixed so that a stray one tells what it names. */
export function newId(chance: Chance, prefix: string): string {
  let text = "";
  for (const byte of chance.bytes(20)) text += alphabet[byte & 31];
  return `${prefix}_${text}`;
}
