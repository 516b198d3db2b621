import type { CommandState } from "../commands/command.ts";
import type { Instant } from "../units.ts";

/** Whether a unit off loan still keeps what it recorded of the person it was lent to. */
export type Forgetting =
  | { readonly kind: "never-lent" }
  | { readonly kind: "keeps"; readonly lentUntil: Instant }
  /** Asked, and not at its end: it forgets only once all it keeps has arrived (FP-11.8). */
  | { readonly kind: "under-way"; readonly askedAt: Instant }
  | { readonly kind: "declined"; readonly at: Instant; readonly reason: string | null }
  /** Nobody knows whether it was done. */
  | { readonly kind: "unheard"; readonly askedAt: Instant }
  | { readonly kind: "forgot"; readonly at: Instant };

export interface ForgetAsked {
  readonly state: CommandState;
  readonly issuedAt: Instant;
  readonly answeredAt: Instant | null;
  readonly reason: string | null;
}

/** @param lentUntil when its last loan ended; null: it was set up with nobody yet
 *  @param asked the last time it was asked to forget since then */
export function forgettingOf(lentUntil: Instant | null, asked: ForgetAsked | null): Forgetting {
  if (lentUntil === null) return { kind: "never-lent" };
  if (asked === null) return { kind: "keeps", lentUntil };
  const at = asked.answeredAt ?? asked.issuedAt;
  switch (asked.state) {
    case "waiting":
    case "sent":
    case "accepted":
      return { kind: "under-way", askedAt: asked.issuedAt };
    case "done":
      return { kind: "forgot", at };
    case "refused":
      return { kind: "declined", at, reason: asked.reason };
    case "expired":
      return { kind: "unheard", askedAt: asked.issuedAt };
  }
}

/** Between two borrowers a unit is emptied, with its confirmation (ETSI EN 303 645 5.11, a consumer standard, by analogy).
 *  @returns what stands against giving it to anybody else; null: nothing */
export function reasonToForgetFirst(forgetting: Forgetting): string | null {
  switch (forgetting.kind) {
    case "never-lent":
    case "forgot":
      return null;
    case "keeps":
      return "It still keeps what it recorded in its last loan: let it forget that.";
    case "under-way":
      return "It has been asked to forget and has not said yet that it did.";
    case "declined":
      return "It declined to forget what it recorded in its last loan.";
    case "unheard":
      return "It was asked to forget and never answered: ask again.";
  }
}
