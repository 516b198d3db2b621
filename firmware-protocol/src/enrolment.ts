import type { Plan } from "./downlink.ts";

/** [FP-8.3] Body of `POST /enrol`, JSON. */
export interface EnrolRequest {
  /** The pairing code: the whole JWS from the QR picture, or the typed form with or without its hyphens. */
  readonly code: string;
  readonly unit: string;
  /** PKCS#10 request, PEM, for a key the unit has just made; its subject's common name is the unit's serial. */
  readonly certificateRequest: string;
}

/** [FP-8.4] 200 to an accepted claim. */
export interface EnrolAnswer {
  /** The unit's certificate followed by its issuers, PEM. */
  readonly certificateChain: string;
  /** What the broker's certificate must lead to, PEM. */
  readonly authority: string;
  readonly broker: { readonly host: string; readonly port: number };
  readonly topicRoot: string;
  /** null: none is in force, as on a bench [FP-7.8]. */
  readonly plan: Omit<Plan, "kind"> | null;
}

/** [FP-8.5] 4xx: which rule refused the claim, and what to do next in words. */
export interface EnrolRefusal {
  readonly refused: EnrolRefusalReason;
  readonly message: string;
}

export const enrolRefusalReasons = [
  "unreadable-request",
  "unreadable-code",
  "signature-not-ours",
  "expired",
  "withdrawn",
  "already-used",
  "another-unit",
  "loan-ended",
  "key-not-proved",
  "too-many-tries",
] as const;
export type EnrolRefusalReason = (typeof enrolRefusalReasons)[number];
