import type { Envelope } from "./messages.ts";

/** Why bytes could not be read, and what of the envelope could. Never thrown: a decoder returns it. */
export interface Unreadable {
  readonly kind: "unreadable";
  /** The clause of SPEC.md that refuses it, e.g. `FP-4.2`. */
  readonly clause: string;
  /** Names the field and what was wrong with it. */
  readonly reason: string;
  /** Set where the envelope itself could be read. */
  readonly envelope: Envelope | null;
}
