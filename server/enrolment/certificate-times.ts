import { type Hours, hours, type Instant, instant, millisecondsIn } from "../domain/units.ts";

const hoursInDay = 24;
export const days = (count: number): Hours => hours(count * hoursInDay);

/** A unit's clock may be a little behind ours when its certificate reaches it. */
const backdatedMinutes = 5;

export interface Validity {
  readonly notBefore: Date;
  readonly notAfter: Date;
}

/** Whole seconds: certificates hold no finer time. */
export function validityFrom(now: Instant, lifetime: Hours): Validity {
  const wholeSeconds = now - (now % millisecondsIn.second);
  return {
    notBefore: new Date(wholeSeconds - backdatedMinutes * millisecondsIn.minute),
    notAfter: new Date(wholeSeconds + lifetime * millisecondsIn.hour),
  };
}

export const instantOf = (date: Date): Instant => instant(date.getTime());
export const dateOf = (at: Instant): Date => new Date(at);
