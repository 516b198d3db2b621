import { createHash, timingSafeEqual } from "node:crypto";
import type { Chance } from "../chance.ts";

const tokenBytes = 32;

/** A secret of 256 bits for a cookie, a form or a one-time link. */
export const newToken = (chance: Chance): string =>
  Buffer.from(chance.bytes(tokenBytes)).toString("base64url");

/** What is stored in place of a token: the table alone opens nothing. */
export const tokenHashOf = (token: string): string => createHash("sha256").update(token).digest("hex");

/** Takes the same time whether the first or the last letter differs. */
export function sameSecret(left: string, right: string): boolean {
  const digest = (text: string) => createHash("sha256").update(text).digest();
  return timingSafeEqual(digest(left), digest(right));
}
