import { type Instant, instant, millisecondsIn, type Span } from "../units.ts";
import type { StateRun } from "./charge-left.ts";
import type { UsualCharges } from "./gap-context.ts";

const day = 24 * millisecondsIn.hour;
/** A day says something of the habit when this share of it was recorded and somebody sat on the cushion in it: where
 *  nobody did, they may have been away already. Shorter times on the charger are no charge. Assumptions. */
const recordedShare = 0.7;
const shortestCharge = 20 * millisecondsIn.minute;
/** Fewer such days are no habit. Assumption. */
const fewestDays = 4;

/** How likely it is that as many days as the gap lasted pass without a charge, by how often it was charged on the days
 *  before. With few days seen it says little: the share of days is uncertain, and each day that passed makes it likelier
 *  that charging had become rare.
 *  @param runs the ledger before the gap, oldest first
 *  @returns null for a gap under a day, or where too few days were seen
 *  Source: the beta-binomial distribution, from an even prior; Gelman et al., Bayesian Data Analysis, 3rd ed., sec. 2.4
 *  and 5.3 (from memory) */
export function usualCharges(runs: readonly StateRun[], gap: Span): UsualCharges | null {
  const days = Math.floor((gap.end - gap.start) / day);
  const first = runs[0];
  if (days < 1 || !first) return null;
  let charged = 0;
  let of = 0;
  for (let end: Instant = gap.start; end - day >= first.start; end = instant(end - day)) {
    const lasted = lastedIn(runs, { start: instant(end - day), end });
    const recorded = lasted("seated") + lasted("off") + lasted("on-charge");
    if (recorded < recordedShare * day || lasted("seated") === 0) continue;
    of += 1;
    if (lasted("on-charge") >= shortestCharge) charged += 1;
  }
  return of < fewestDays ? null : { days, charged, of, chance: noneIn(days, charged, of) };
}

function noneIn(days: number, charged: number, of: number): number {
  let chance = 1;
  for (let passed = 0; passed < days; passed += 1) chance *= (of - charged + 1 + passed) / (of + 2 + passed);
  return chance;
}

const lastedIn =
  (runs: readonly StateRun[], { start, end }: Span) =>
  (state: StateRun["state"]): number =>
    runs.reduce(
      (sum, run) =>
        run.state === state ? sum + Math.max(0, Math.min(run.end, end) - Math.max(run.start, start)) : sum,
      0,
    );
