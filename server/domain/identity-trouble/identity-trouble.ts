import { type Instant, millisecondsIn, type Span } from "../units.ts";
import { apart, fewestSits, type OwnSitting, ownSitting } from "./own-sitting.ts";
import type { SitSummary } from "./sit-summaries.ts";

/** Ways in which a record is not of the person it is filed under. */
export const identityTroubleKinds = ["swapped", "two-people", "object", "other-seat", "turned"] as const;
export type IdentityTroubleKind = (typeof identityTroubleKinds)[number];

export interface IdentityTrouble {
  readonly kind: IdentityTroubleKind;
  /** First and last sit that look so. */
  readonly span: Span;
  /** What was seen, a sentence each. */
  readonly evidence: readonly string[];
  readonly probability: number;
}

const hour = millisecondsIn.hour;
const day = 24 * hour;
/** Another body: this many spreads and this share of the load away from the person's own. Assumptions. */
const otherBody = { spreads: 6, share: 0.12 } as const;
/** An object: under this share of the person's load, stirring less than this from minute to minute, for this long. */
const object = { share: 0.35, stir: 0.15, longerThan: 30 * millisecondsIn.minute } as const;
const fewestOdd = 3;
/** A few heavy coats in a week are no second person. Assumption. */
const leastShare = 0.1;

/** Whether what was recorded in the last days fits the person it is filed under, against their own earlier record.
 *  Raised as a question only: weight, posture, a coat or a new chair can do each of these.
 *  @param sits oldest first, of one loan; the earlier ones form the baseline
 *  @param lately from here on is asked about */
export function identityTroubles(sits: readonly SitSummary[], lately: Instant): IdentityTrouble[] {
  const own = ownSitting(sits.filter(({ start }) => start < lately));
  const recent = sits.filter(({ start }) => start >= lately);
  if (own === null || recent.length === 0) return [];
  return [objects(own, recent), otherBodies(own, recent), otherSeat(own, recent)].flatMap((one) =>
    one === null ? [] : [one],
  );
}

const kilograms = (value: number): string => `${value.toFixed(0)} kg`;
const times = (count: number): string => (count === 1 ? "once" : `${count} times`);

function objects(own: OwnSitting, sits: readonly SitSummary[]): IdentityTrouble | null {
  const odd = sits.filter((sit) => isObject(sit, own));
  if (odd.length < 2) return null;
  const most = Math.max(...odd.map(({ load }) => load));
  return {
    kind: "object",
    span: spanOf(odd),
    probability: Math.min(0.9, 0.6 + 0.05 * odd.length),
    evidence: [
      `${capital(times(odd.length))} something of ${kilograms(most)} or less lay on it, where this person's own load is ${kilograms(own.load.middle)}.`,
      "It lay almost still from minute to minute, as a bag does and a person does not.",
    ],
  };
}

const isObject = (sit: SitSummary, own: OwnSitting): boolean =>
  sit.load < object.share * own.load.middle &&
  sit.stir < object.stir &&
  sit.end - sit.start >= object.longerThan;

/** All sits since some moment by another body, or two bodies in turn. */
function otherBodies(own: OwnSitting, sits: readonly SitSummary[]): IdentityTrouble | null {
  const persons = sits.filter((sit) => !isObject(sit, own));
  const odd = persons.filter((sit) => isOtherBody(sit, own));
  const [first] = odd;
  if (odd.length < fewestOdd || !first || !alike(odd)) return null;
  const since = persons.filter(({ start }) => start >= first.start);
  const own2 = since.length - odd.length;
  const between = odd.reduce((sum, { load }) => sum + load, 0) / odd.length;
  const loads = `about ${kilograms(between)}, this person's own load is ${kilograms(own.load.middle)}`;
  if (own2 <= 0.1 * since.length && since.length >= fewestOdd)
    return {
      kind: "swapped",
      span: spanOf(odd),
      probability: 0.7,
      evidence: [
        `${own2 === 0 ? "All" : `All but ${own2}`} of the last ${since.length} sits were by a body of ${loads}.`,
      ],
    };
  if (odd.length < leastShare * since.length) return null;
  return {
    kind: "two-people",
    span: spanOf(odd),
    probability: 0.75,
    evidence: [
      `${odd.length} of ${since.length} sits were by a body of ${loads}; between them the usual load came back.`,
    ],
  };
}

const isOtherBody = ({ load }: SitSummary, { load: own }: OwnSitting): boolean =>
  apart(load, own) >= otherBody.spreads && Math.abs(load - own.middle) >= otherBody.share * own.middle;

/** One other body, not a scatter: the odd sits agree among themselves. */
function alike(sits: readonly SitSummary[]): boolean {
  const sorted = sits.map(({ load }) => load).sort((a, b) => a - b);
  const middle = sorted[Math.floor(sorted.length / 2)] ?? 0;
  return sorted.filter((load) => Math.abs(load - middle) <= 0.08 * middle).length >= 0.7 * sorted.length;
}

/** The same body, but leaning or sagging otherwise than ever before, some of the time: another seat. */
function otherSeat(own: OwnSitting, sits: readonly SitSummary[]): IdentityTrouble | null {
  const sameBody = sits.filter((sit) => !isOtherBody(sit, own) && !isObject(sit, own));
  const odd = sameBody.filter(
    ({ right, front }) =>
      apart(front, own.front) >= otherBody.spreads || apart(right, own.right) >= otherBody.spreads,
  );
  if (odd.length < fewestOdd || odd.length > 0.8 * sameBody.length) return null;
  const front = odd.reduce((sum, sit) => sum + sit.front, 0) / odd.length;
  return {
    kind: "other-seat",
    span: spanOf(odd),
    probability: 0.6,
    evidence: [
      `In ${odd.length} of ${sameBody.length} sits the load of this person lay elsewhere than in any chair position of theirs before (${front >= own.front.middle ? "further forward" : "further back"} by ${Math.abs(front - own.front.middle).toFixed(0)} % of the half depth).`,
      "In between it lay as usual, so that nothing has moved for good.",
    ],
  };
}

const spanOf = (sits: readonly SitSummary[]): Span => {
  const first = sits[0];
  const last = sits.at(-1);
  if (!first || !last) throw new Error("no sits");
  return { start: first.start, end: last.end };
};
const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

export interface LoanSits {
  readonly own: OwnSitting;
  readonly recent: readonly SitSummary[];
}

/** Two loans whose loads have changed places: what each records lately fits the other's own record and not its own. */
export function changedPlaces(one: LoanSits, other: LoanSits): boolean {
  const fits = ({ recent }: LoanSits, own: OwnSitting) =>
    recent.filter(({ load }) => apart(load, own.load) <= 3).length >= 0.7 * recent.length;
  const enough = one.recent.length >= fewestOdd && other.recent.length >= fewestOdd;
  return (
    enough && !fits(one, one.own) && !fits(other, other.own) && fits(one, other.own) && fits(other, one.own)
  );
}

/** How much lately is asked about, and how much before it is the baseline. */
export const lookedAt = { lately: 7 * day, before: 21 * day, fewestSits } as const;
