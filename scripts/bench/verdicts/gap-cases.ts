import type { UnitRecord } from "../../../server/domain/record/unit-record.ts";
import { localTimeOf } from "../../../server/domain/time/local-day.ts";
import { type Instant, instant, millisecondsIn, type Span } from "../../../server/domain/units.ts";
import { aroundGap } from "../../../server/domain/verdicts/around-a-gap.ts";
import type { StateRun } from "../../../server/domain/verdicts/charge-left.ts";
import type { GapContext } from "../../../server/domain/verdicts/gap-context.ts";
import { habitsBefore } from "../../../server/domain/verdicts/habits-before.ts";
import { type GapTruth, gapTruths } from "./causes-in-truth.ts";
import { Draws } from "./chance.ts";
import { atMinute, epoch } from "./record-of.ts";
import { type Reviewed, zone } from "./review-person.ts";
import type { SimulatedPerson } from "./simulate-person.ts";
import { slice } from "./slice.ts";

/** `final`: never filled, judged at the end. `filled`: late data came. `as-found`: while it went on. */
export type GapMoment = "final" | "filled" | "as-found";

export interface GapCase {
  readonly person: number;
  readonly moment: GapMoment;
  /** What is known but for the other units. */
  readonly context: Omit<GapContext, "together">;
  readonly truth: GapTruth;
  readonly minutes: ReadonlyMap<GapTruth, number>;
}

/** When a gap of one unit was to be seen live: nothing had arrived from `start` until `end`. */
export interface LiveGap {
  readonly start: number;
  readonly end: number;
  readonly goesOn: boolean;
}

const minute = millisecondsIn.minute;
/** Older than this and still not here: a batch and the service's own patience. */
const late = 36;
const shortest = 20;

export function liveGapsOf({ life, delivery }: SimulatedPerson): LiveGap[] {
  const length = life.on.length;
  const gaps: LiveGap[] = [];
  let start = -1;
  for (let at = 0; at <= length; at += 1) {
    const arrives = delivery.arrival[at] ?? -1;
    const missing = at < length && (arrives < 0 || arrives - at > late);
    if (missing && start < 0) start = at;
    if (missing || start < 0) continue;
    if (at - start >= shortest) gaps.push({ start, end: at, goesOn: at === length });
    start = -1;
  }
  return gaps;
}

export function gapCasesOf(
  index: number,
  one: SimulatedPerson,
  record: UnitRecord,
  reviewed: Reviewed,
  live: readonly LiveGap[],
): GapCase[] {
  const chances = new Draws(index + 77);
  const of = { index, one, record, reviewed, live };
  const finals = reviewed.gaps.map(({ start, end }) =>
    caseOf(of, { start, end: end ?? reviewed.until }, end === null ? "open" : "ended"),
  );
  const filled = live
    .filter(({ start, end }) => countMissing(one, start, end) < shortest)
    .map(({ start, end }) => caseOf(of, { start: atMinute(start), end: atMinute(end) }, "filled"));
  const asFound = live
    .filter(({ start, end }) => end - start > shortest + 16)
    .map(({ start, end }) => {
      const now = Math.floor(chances.between(start + shortest + 16, end));
      return caseOf(of, { start: atMinute(start), end: atMinute(now) }, "found");
    });
  return [...finals, ...filled, ...asFound];
}

function countMissing({ delivery }: SimulatedPerson, start: number, end: number): number {
  let count = 0;
  for (let at = start; at < end; at += 1) if ((delivery.arrival[at] ?? -1) < 0) count += 1;
  return count;
}

interface Watched {
  readonly one: SimulatedPerson;
  readonly record: UnitRecord;
  readonly reviewed: Reviewed;
  readonly live: readonly LiveGap[];
}

/** What is known of the gaps that are left at the end; the truth is not looked up. */
export const leftGapContexts = (
  one: SimulatedPerson,
  record: UnitRecord,
  reviewed: Reviewed,
  live: readonly LiveGap[],
): GapCase["context"][] =>
  reviewed.gaps.map(({ start, end }) =>
    contextOf(
      { one, record, reviewed, live },
      { start, end: end ?? reviewed.until },
      end === null ? "open" : "ended",
    ),
  );

type How = "ended" | "open" | "filled" | "found";

function caseOf(watched: Watched & { readonly index: number }, span: Span, how: How): GapCase {
  const minutes = minutesByTruth(watched.one, minuteOf(span.start), minuteOf(span.end));
  return {
    person: watched.index,
    moment: how === "filled" ? "filled" : how === "found" ? "as-found" : "final",
    context: contextOf(watched, span, how),
    truth: largest(minutes),
    minutes,
  };
}

const minuteOf = (at: Instant): number => Math.round((at - epoch) / minute);

function contextOf({ one, record, reviewed, live }: Watched, span: Span, how: How): GapCase["context"] {
  const ongoing = how === "open" || how === "found";
  const near = slice(record, {
    start: instant(span.start - millisecondsIn.hour),
    end: instant(how === "found" ? span.start : span.end + 2 * millisecondsIn.hour),
  });
  const from = minuteOf(span.start);
  const to = minuteOf(span.end);
  const { known } = one;
  const by = how === "found" ? to : Number.POSITIVE_INFINITY;
  const faded = known.fadedFrom !== null && known.fadedFrom <= Math.min(from + 5 * 1440, by);
  const around = aroundGap(near, span, ongoing, how === "filled");
  const hasSigns = known.signsFrom !== null && known.signsFrom <= to && around.battery?.path !== "flat";
  const runs = runsBefore(reviewed, span.start);
  return {
    span,
    ongoing,
    filledAt: how === "filled" ? span.end : null,
    ...around,
    ...habitsBefore(runs, span),
    capacity: faded ? { state: "faded" } : known.assessed ? { state: "sound" } : null,
    note: noteOver(one, from, to, by),
    hour: localTimeOf(span.start, zone).hour,
    certificate: known.expiredAt === null ? null : known.expiredAt <= from + 30 ? "refused" : "good",
    electronics: known.assessed ? { signs: hasSigns ? ["repeated restarts"] : [] } : null,
    history: ongoing ? historyBefore(one, live, from, to) : null,
  };
}

function historyBefore(
  one: SimulatedPerson,
  live: readonly LiveGap[],
  from: number,
  to: number,
): GapContext["history"] {
  const asLong = live.filter(
    ({ start, end }) => end <= from && start >= from - 60 * 1440 && end - start >= to - from,
  );
  const filled = asLong.filter(({ start, end }) => countMissing(one, start, end) < shortest).length;
  return { filled, others: asLong.length - filled };
}

function runsBefore({ days }: Reviewed, at: Instant): StateRun[] {
  const since = at - 15 * 24 * millisecondsIn.hour;
  return days.filter(({ start }) => start >= since && start < at).flatMap(({ runs }) => [...runs]);
}

/** Notes are entered a day after what they tell of began. */
function noteOver({ known }: SimulatedPerson, from: number, to: number, by: number): GapContext["note"] {
  const touching = known.notes.filter(
    (note) => note.from < to && note.to > from - 1440 && note.from + 1440 <= by,
  );
  for (const kind of ["hospital", "holiday", "washed-cover", "visit"] as const) {
    const note = touching.find((each) => each.kind === kind);
    if (note) return { kind, from: atMinute(Math.floor(note.from)) };
  }
  return "none";
}

function minutesByTruth(
  { life, delivery }: SimulatedPerson,
  from: number,
  to: number,
): Map<GapTruth, number> {
  const minutes = new Map<GapTruth, number>();
  for (let at = Math.max(0, from); at < Math.min(to, life.on.length); at += 1) {
    const code = life.on[at] === 1 ? delivery.linkCause[at] : life.offCause[at];
    const cause = gapTruths[code ?? 0] ?? "none";
    if (cause !== "none") minutes.set(cause, (minutes.get(cause) ?? 0) + 1);
  }
  return minutes;
}

const largest = (minutes: ReadonlyMap<GapTruth, number>): GapTruth =>
  [...minutes].reduce<readonly [GapTruth, number]>(
    (most, one) => (one[1] > most[1] ? one : most),
    ["none", 0],
  )[0];
