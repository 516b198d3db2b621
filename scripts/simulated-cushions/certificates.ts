import { X509Certificate } from "node:crypto";
import type { Enrolled } from "./enrol.ts";
import { hour, type Moment, second } from "./wall-clock.ts";

interface NewOne {
  readonly enrolled: Enrolled;
  /** When the broker last refused it. */
  refusedAt: Moment | null;
}

/** The certificate a unit connects with, and for the time of the overlap the one before it as well. */
export class Certificates {
  #old: Enrolled;
  #new: NewOne | null = null;

  constructor(enrolled: Enrolled) {
    this.#old = enrolled;
  }

  /** A new one came, and was found good. */
  takeOver(enrolled: Enrolled): void {
    this.#new = { enrolled, refusedAt: null };
  }

  /** [FP-12.7] The new one, or for an hour after it was refused the old one while that is valid. */
  toUse(now: Moment): Enrolled {
    if (this.#new === null) return this.#old;
    const { enrolled, refusedAt } = this.#new;
    const waits = refusedAt !== null && now - refusedAt < hour;
    return waits && isInForce(this.#old, now) ? this.#old : enrolled;
  }

  /** @returns whether there is another to try at once */
  refused(enrolled: Enrolled, now: Moment): boolean {
    if (this.#new?.enrolled !== enrolled) return false;
    this.#new.refusedAt = now;
    return isInForce(this.#old, now);
  }

  /** [FP-12.6] A receipt came over a connection with it: the old one may go. */
  proved(enrolled: Enrolled): void {
    if (this.#new?.enrolled !== enrolled) return;
    this.#old = enrolled;
    this.#new = null;
  }
}

const isInForce = (enrolled: Enrolled, now: Moment): boolean => endOf(enrolled) * second > now;

/** When the unit's own certificate ends, Unix seconds. */
export const endOf = ({ certificateChain }: Enrolled): number =>
  Math.floor(Date.parse(new X509Certificate(certificateChain).validTo) / second);

/** Whether it was the certificate that kept the unit out, and not the way there: the broker's own word, or TLS's. */
export const isRefusal = (problem: unknown): boolean =>
  problem instanceof Error && /connection refused: not authori[sz]ed|alert/i.test(problem.message);
