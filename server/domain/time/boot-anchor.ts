import { type Instant, instant, type Milliseconds, milliseconds, type Seconds, seconds } from "../units.ts";

/** What one message says about time. Uptime and boot number are the truth; the wall clock is a claim. */
export interface Heard {
  /** Of the boot, when the message was written. */
  readonly uptime: Seconds;
  /** What the unit's clock showed then, seconds since 1970; null while it was not set. */
  readonly wall: Seconds | null;
  readonly receivedAt: Instant;
}

/** When a boot's uptime was zero, give or take `error`. `clock`: by the unit's own set clock. `arrival`: no usable
 *  clock; a message can't be written after it arrived nor after the next boot began, so this is the latest the boot can
 *  have begun. */
export interface BootAnchor {
  readonly bootedAt: Instant;
  readonly error: Seconds;
  readonly basis: "clock" | "arrival";
}

export interface Placing {
  readonly anchor: BootAnchor;
  /** For each message heard, in the order given: uptime zero as it applies to that message. */
  readonly bootedAt: readonly Instant[];
  /** How far everything of the boot placed before (all of it on arrival alone) has to move. */
  readonly moveEarlier: Milliseconds;
  /** The messages contradict the anchor by more than drift can: place the whole boot again with all its messages. */
  readonly contradicted: boolean;
}

/** 2025-01-01T00:00Z. No unit is older, so a clock before this was never set (a dead clock starts in 1970). */
const earliestCredible = 1_735_689_600_000;
/** A clock may run this far ahead of ours before its claim is called impossible (assumption). */
const aheadAllowed = 120_000;
/** Claims this close agree: whole seconds are rounded once in the uptime and once in the claim. */
const agreement = 2_000;
/** Further than this is no drift: the clock was set, or lost, within the boot (assumption: 100 ppm for two weeks). */
const mostDrift = 120_000;
const clockError = seconds(3);
/** How old a message may be when no clock tells: the longest a unit keeps its record (assumption). */
const longestKept = seconds(30 * 24 * 3_600);

/** Places the messages of one boot in true time.
 *
 *  - A message is placed by its boot's anchor while its own claim agrees to 2 s, so minutes stay contiguous.
 *  - Where the claim has crept further (slow drift, up to 2 min) the anchor follows it; what was placed before stays.
 *  - Without a usable claim the anchor holds; without an anchor the earliest `receivedAt - uptime` is its upper bound,
 *    and all that hangs on it moves as soon as a clock speaks or an earlier bound is heard.
 *  - Of claims that can't both be true the one written last is believed: a clock is only ever set to be righter.
 *  - A claim that our clock agrees with as the message arrives is believed whatever arrived before: our own clock may
 *    have been wrong then.
 *
 *  @param anchor of the boot so far, null when nothing of it is placed
 *  @param heard at least one message, in the order written
 *  @param notBefore the earliest that what earlier boots recorded can have ended, where known: bounds the error of an
 *  arrival anchor
 *  @param notAfter the latest that a later boot can have begun, where known: this one had ended by then */
export function placeHeard(
  anchor: BootAnchor | null,
  heard: readonly Heard[],
  notBefore: Instant | null,
  notAfter: Instant | null = null,
): Placing {
  const latestBoot = latestBootBy(heard);
  const claims = heard.map((message) => bootClaimed(message, latestBoot));
  if (anchor?.basis === "clock") return followClock(anchor, claims, latestBoot);
  const last = claims.findLast((claim) => claim !== null);
  if (last !== undefined && last !== null) return adoptClock(anchor, claims, last);
  const longest = heard.reduce((most, { uptime }) => Math.max(most, uptime), 0);
  const latest = notAfter === null ? latestBoot : Math.min(latestBoot, notAfter - longest * 1_000);
  return boundByArrival(anchor, claims.length, latest, notBefore);
}

/** Whether `fresh` speaks against an anchor with something new.
 *
 *  @param before the message written last of those that were placed already, where it was written before `fresh`: what
 *  spoke against the anchor in it was weighed then, and is not weighed again for each message that says the same
 *  @param fresh in the order written */
export function speaksAgainst(anchor: BootAnchor, before: Heard | null, fresh: readonly Heard[]): boolean {
  if (anchor.basis !== "clock") return false;
  const weighed =
    before === null ? null : { claim: bootClaimed(before, never), bound: latestBootBy([before]) };
  const latestBoot = latestBootBy(fresh);
  const isNewBound = weighed === null || latestBoot < weighed.bound - aheadAllowed;
  const claims = fresh.map((message) => {
    const claim = bootClaimed(message, latestBoot);
    const isNew =
      claim === null || weighed === null || weighed.claim === null || !isDrift(claim - weighed.claim);
    return isNew ? claim : null;
  });
  return followClock(anchor, claims, isNewBound ? latestBoot : never).contradicted;
}

const never = Number.POSITIVE_INFINITY;

const latestBootBy = (heard: readonly Heard[]): number =>
  heard.reduce((earliest, { receivedAt, uptime }) => Math.min(earliest, receivedAt - uptime * 1_000), never);

const isDrift = (difference: number): boolean => Math.abs(difference) <= mostDrift;

/** When the boot began by this message's own clock, or null when the clock was not set or can't be right. */
function bootClaimed({ uptime, wall, receivedAt }: Heard, latestBoot: number): number | null {
  if (wall === null) return null;
  const written = wall * 1_000;
  const boot = written - uptime * 1_000;
  const agrees = Math.abs(written - receivedAt) <= aheadAllowed;
  const mayBe = written <= receivedAt && boot <= latestBoot + aheadAllowed;
  const credible = written >= earliestCredible && (agrees || mayBe);
  return credible ? boot : null;
}

function followClock(anchor: BootAnchor, claims: readonly (number | null)[], latestBoot: number): Placing {
  let current: number = anchor.bootedAt;
  let contradicted = latestBoot < current - aheadAllowed;
  const bootedAt = claims.map((claim) => {
    if (claim !== null && !isDrift(claim - current)) contradicted = true;
    else current = followed(current, claim);
    return instant(current);
  });
  const followedAnchor: BootAnchor = { ...anchor, bootedAt: instant(current) };
  return { anchor: followedAnchor, bootedAt, moveEarlier: milliseconds(0), contradicted };
}

function adoptClock(before: BootAnchor | null, claims: readonly (number | null)[], last: number): Placing {
  let current = last;
  // From the last word backwards: what disagrees beyond drift was written before the clock was set right.
  const backwards = claims.toReversed().map((claim) => {
    if (claim !== null && isDrift(claim - current)) current = followed(current, claim);
    return instant(current);
  });
  return {
    anchor: { bootedAt: instant(last), error: clockError, basis: "clock" },
    bootedAt: backwards.toReversed(),
    moveEarlier: milliseconds(before === null ? 0 : current - before.bootedAt),
    contradicted: false,
  };
}

function boundByArrival(
  before: BootAnchor | null,
  count: number,
  latestBoot: number,
  notBefore: Instant | null,
): Placing {
  // A bound that is only a little earlier is the network's jitter: moving everything for it would gain nothing.
  const keep = before !== null && latestBoot >= before.bootedAt - agreement;
  const bound = keep ? before.bootedAt : instant(latestBoot);
  const doubt = notBefore === null ? longestKept : Math.ceil((bound - notBefore) / 1_000);
  return {
    anchor: {
      bootedAt: bound,
      error: seconds(Math.min(longestKept, Math.max(doubt, clockError))),
      basis: "arrival",
    },
    bootedAt: Array.from({ length: count }, () => bound),
    moveEarlier: milliseconds(before === null ? 0 : bound - before.bootedAt),
    contradicted: false,
  };
}

const followed = (current: number, claim: number | null): number =>
  claim === null || Math.abs(claim - current) <= agreement ? current : claim;
