import { after, between, type Instant, type Milliseconds, milliseconds, millisecondsIn } from "../units.ts";

/** What is known of one pairing code. A code is issued once and ends once: spent, withdrawn or expired. */
export interface CodeFacts {
  readonly expiresAt: Instant;
  readonly withdrawnAt: Instant | null;
  readonly spentAt: Instant | null;
  /** Thumbprint of the key that spent it. */
  readonly spentByKey: string | null;
}

export type CodeState = "issued" | "spent" | "withdrawn" | "expired";

/** A code spent in time stays spent, and one withdrawn in time stays withdrawn, whatever the clock says later.
 *  The instant of expiry itself is already too late. */
export function codeState(code: CodeFacts, now: Instant): CodeState {
  if (code.spentAt !== null) return "spent";
  if (code.withdrawnAt !== null) return "withdrawn";
  return now >= code.expiresAt ? "expired" : "issued";
}

/** An answer can be lost on its way. Within this time the key that spent the code may fetch the same certificate
 *  again; no other key may. Assumption: longer than a home router takes to restart, shorter than a visit. */
export const sameKeyGrace: Milliseconds = milliseconds(10 * millisecondsIn.minute);

export type ClaimStep =
  | { readonly kind: "spend"; readonly code: CodeFacts }
  | { readonly kind: "same-again" }
  | { readonly kind: "refused"; readonly reason: "expired" | "withdrawn" | "already-used" };

/** What a claim with `key` does to a code. `code` in a `spend` is the code after it. */
export function claimStep(code: CodeFacts, key: string, now: Instant): ClaimStep {
  const state = codeState(code, now);
  switch (state) {
    case "issued":
      return { kind: "spend", code: { ...code, spentAt: now, spentByKey: key } };
    case "spent":
      return mayFetchAgain(code, key, now)
        ? { kind: "same-again" }
        : { kind: "refused", reason: "already-used" };
    case "withdrawn":
    case "expired":
      return { kind: "refused", reason: state };
  }
}

function mayFetchAgain(code: CodeFacts, key: string, now: Instant): boolean {
  if (code.spentAt === null || code.spentByKey !== key) return false;
  return between(code.spentAt, now) >= 0 && now < after(code.spentAt, sameKeyGrace);
}

export type WithdrawStep =
  | { readonly kind: "withdraw"; readonly code: CodeFacts }
  | { readonly kind: "too-late"; readonly state: Exclude<CodeState, "issued"> };

/** Only a code that could still be used can be withdrawn. */
export function withdrawStep(code: CodeFacts, now: Instant): WithdrawStep {
  const state = codeState(code, now);
  return state === "issued"
    ? { kind: "withdraw", code: { ...code, withdrawnAt: now } }
    : { kind: "too-late", state };
}
