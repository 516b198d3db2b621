import type { UnitSerial } from "../ids.ts";
import type { Instant } from "../units.ts";
import { type CodeFacts, claimStep, codeState } from "./pairing-code-state.ts";

/** What is known when a unit claims a code whose signature holds. */
export interface Claim {
  readonly code: CodeFacts & { readonly unitSerial: UnitSerial };
  /** When the loan, or the session at the bench, ended that the code is for. */
  readonly joinedEndedAt: Instant | null;
  /** The certificate the code was spent on was revoked since. */
  readonly certificateRevoked: boolean;
  readonly claimedUnit: string;
  /** Thumbprint of the key the unit has proved to hold; null when it has not. */
  readonly provedKey: string | null;
}

export type ClaimRefusal =
  | "expired"
  | "withdrawn"
  | "already-used"
  | "another-unit"
  | "loan-ended"
  | "key-not-proved";

export type ClaimDecision =
  | { readonly kind: "spend"; readonly key: string }
  | { readonly kind: "same-again" }
  | { readonly kind: "refused"; readonly reason: ClaimRefusal };

const refuse = (reason: ClaimRefusal): ClaimDecision => ({ kind: "refused", reason });

/** The rules in the order in which they refuse: the code's own state, then the unit, the loan, the key. A spent code
 *  gets past its state only with the key that spent it, and only while that key's certificate still holds. Ending a
 *  loan withdraws its code: then the end of the loan is the reason to give, because no newer slip exists to look for. */
export function decideClaim(claim: Claim, now: Instant): ClaimDecision {
  const { code, provedKey } = claim;
  const state = codeState(code, now);
  if (state === "withdrawn") return refuse(claim.joinedEndedAt === null ? "withdrawn" : "loan-ended");
  if (state === "expired") return refuse("expired");
  if (state === "spent" && !mayHaveItAgain(claim, now)) return refuse("already-used");
  if (claim.claimedUnit !== code.unitSerial) return refuse("another-unit");
  if (claim.joinedEndedAt !== null) return refuse("loan-ended");
  if (provedKey === null) return refuse("key-not-proved");
  return state === "spent" ? { kind: "same-again" } : { kind: "spend", key: provedKey };
}

function mayHaveItAgain(claim: Claim, now: Instant): boolean {
  if (claim.provedKey === null || claim.certificateRevoked) return false;
  return claimStep(claim.code, claim.provedKey, now).kind === "same-again";
}
