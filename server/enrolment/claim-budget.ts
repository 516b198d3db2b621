import { createHash } from "node:crypto";
import { isIPv6 } from "node:net";
import { type Instant, milliseconds, millisecondsIn } from "../domain/units.ts";
import type { Database } from "../store/database.ts";
import { type Allowance, takeAttempt } from "../store/throttle.ts";

export const typedCodeWindow = milliseconds(10 * millisecondsIn.minute);

/** Typed codes alone can be guessed at: 67 bits against 100 tries in ten minutes is 10^12 years for an even chance.
 *  Pictures carry a signature and are not limited. Assumptions. */
const typedFromOneAddress: Allowance = { limit: 10, window: typedCodeWindow };
const typedFromAll: Allowance = { limit: 100, window: typedCodeWindow };

/** @returns false when one typed code more is one too many, from this address or from everyone together */
export function mayTryTypedCode(db: Database, remoteAddress: string, now: Instant): boolean {
  if (!takeAttempt(db, `enrol-typed:${addressKey(remoteAddress)}`, now, typedFromOneAddress)) return false;
  return takeAttempt(db, "enrol-typed", now, typedFromAll);
}

/** Refusals that one address may add to the audit in a window, so that a flood can't fill the disk. */
const auditedRefusals: Allowance = { limit: 200, window: typedCodeWindow };

export function mayAuditRefusal(db: Database, remoteAddress: string, now: Instant): boolean {
  return takeAttempt(db, `enrol-refused:${addressKey(remoteAddress)}`, now, auditedRefusals);
}

/** Names an address without keeping it. One household has a whole IPv6 /64 to choose from, so that is what counts. */
function addressKey(remoteAddress: string): string {
  const counted = isIPv6(remoteAddress) ? networkOf(remoteAddress) : remoteAddress;
  return createHash("sha256").update(counted).digest("hex").slice(0, 32);
}

function networkOf(address: string): string {
  const embedded = /^::ffff:(\d+\.\d+\.\d+\.\d+)$/i.exec(address)?.[1];
  if (embedded !== undefined) return embedded;
  const [before = "", after] = address.split("::");
  const head = before === "" ? [] : before.split(":");
  if (after === undefined) return head.slice(0, 4).join(":");
  const tail = after === "" ? [] : after.split(":");
  const zeros = Array.from({ length: 8 - head.length - tail.length }, () => "0");
  return [...head, ...zeros, ...tail].slice(0, 4).join(":");
}
