import { type Hours, hours, type Instant, millisecondsIn, type Span } from "../units.ts";
import type { GapContext } from "./gap-context.ts";

/** Shorter times on the charger charge nothing to speak of; fewer charges are no habit. Assumptions. */
const shortestCharge = 20 * millisecondsIn.minute;
const fewestCharges = 4;

/** Hours since the last charge ended, against the usual (median) time between charges here.
 *  @param onCharge times on the charger before `at`, oldest first */
export function sinceCharge(onCharge: readonly Span[], at: Instant): GapContext["sinceCharge"] {
  const charges = joined(onCharge).filter(({ start, end }) => end - start >= shortestCharge && end <= at);
  const last = charges.at(-1);
  if (!last || charges.length < fewestCharges) return null;
  const between = charges
    .slice(1)
    .map((charge, index) => charge.start - (charges[index]?.end ?? charge.start));
  const usual = [...between].sort((a, b) => a - b)[Math.floor(between.length / 2)];
  if (usual === undefined) return null;
  return { hours: asHours(at - last.end), usual: asHours(usual) };
}

const asHours = (lasted: number): Hours => hours(lasted / millisecondsIn.hour);

/** A charge over midnight, or with a moment's loose plug, is one charge. */
function joined(spans: readonly Span[]): Span[] {
  const whole: Span[] = [];
  for (const span of spans) {
    const last = whole.at(-1);
    if (last && span.start - last.end <= 10 * millisecondsIn.minute)
      whole[whole.length - 1] = { start: last.start, end: span.end };
    else whole.push(span);
  }
  return whole;
}

/** So many times on the charger for so short, within the days before, are a plug or a charger that doesn't hold; nobody
 *  plugs in that often. Assumptions. */
const brokenFrom = 5;
const brokenUpTo = 10 * millisecondsIn.minute;
const brokenWithin = 3 * 24 * millisecondsIn.hour;

/** Whether charging kept breaking off in the days before. null: it was not on the charger then.
 *  @param onCharge times on the charger before `at`, oldest first */
export function chargingBefore(onCharge: readonly Span[], at: Instant): GapContext["charging"] {
  const lately = onCharge.filter(({ start, end }) => end <= at && start >= at - brokenWithin);
  if (lately.length === 0) return null;
  const broken = lately.filter(({ start, end }) => end - start < brokenUpTo).length;
  return { state: broken >= brokenFrom ? "broken" : "whole", times: broken };
}
