import type { MinuteState } from "../ledger/minute-state.ts";
import { gapStates, observedStates } from "../ledger/minute-state.ts";
import { type Instant, millisecondsIn, type Span } from "../units.ts";
import { addCounts, boundsOf, type ReliefCounts } from "./bounds.ts";

/** A day as its ledger and its reliefs tell it. */
export interface RhythmDay {
  readonly start: Instant;
  readonly weekend: boolean;
  readonly runs: readonly { readonly state: MinuteState; readonly start: Instant; readonly end: Instant }[];
  readonly counts: ReliefCounts;
  /** Within the day, noted as in hospital or away from home. */
  readonly away: readonly Span[];
}

export interface OwnRhythmRange {
  readonly low: number;
  readonly high: number;
  /** If the unseen sitting had a quarter fewer, or more, of its reliefs met than the seen: the range then. */
  readonly ifFewer: { readonly low: number; readonly high: number };
  readonly ifMore: { readonly low: number; readonly high: number };
  /** Expected sitting in the unseen time, hours: low, best, high. */
  readonly seatedHours: { readonly low: number; readonly best: number; readonly high: number };
  /** Some of the unseen time was noted as away. */
  readonly away: boolean;
}

/** Fewer observed days than this are no rhythm. Assumption. */
const fewestDays = 7;
const fewestDue = 20;
/** Bedtimes drift with the seasons: an unseen hour is held against the days so near it. Assumption. */
const nearDays = 28;
/** Hours in a row are alike: three observed hours count as one. Assumption. */
const alikeHours = 3;
/** Wider than 95 % of a normal: reliefs at the edges of a gap are counted by rounding up. */
const deviations = 3;
const scenario = 0.25;

/** Share of due reliefs met, narrower than the no-assumption bounds: taking it that the unseen time was like the
 *  person's own seen time. How much of it was sitting comes from the same hours of other days (weekend apart), each a
 *  Beta posterior over its observed time only; how many of its reliefs were met from the seen days, which differ from
 *  one another. Days touched by a stay noted as away teach nothing, and of unseen time within one nothing is taken for
 *  certain: from no sitting to the usual. It never leaves the no-assumption bounds, and holds only as far as the unseen
 *  is like the seen.
 *  @param learn days to learn from, the asked ones among them
 *  @param asked the days the figure is of
 *  @returns null where too little was seen, or nothing was unseen
 *  Source: Beta posterior with Jeffreys' prior, Brown, Cai & DasGupta 2001, Statistical Science 16:101; that the
 *  unseen is like the seen (missing at random) is an assumption, so scenarios stand beside it. */
export function ownRhythmRange(
  learn: readonly RhythmDay[],
  asked: readonly RhythmDay[],
): OwnRhythmRange | null {
  const counts = addCounts(asked.map((day) => day.counts));
  const bounds = boundsOf(counts);
  const home = learn.filter(({ away }) => away.length === 0);
  const seen = home.map((day) => day.counts).filter(({ met, missed }) => met + missed > 0);
  const all = addCounts(seen);
  if (!bounds || counts.notAssessable === 0) return null;
  if (seen.length < fewestDays || all.met + all.missed < fewestDue) return null;
  const seated = unseenSeated(home, asked);
  if (seated === null) return null;
  // The count of unseen reliefs takes all of the time to be sitting.
  const unseen = { low: counts.notAssessable * seated.low, high: counts.notAssessable * seated.high };
  const met = metShare(seen, asked.filter(({ counts: { notAssessable } }) => notAssessable > 0).length);
  const range = (by: number) => {
    const corners = [unseen.low, unseen.high].flatMap((count) =>
      [met.low, met.high].map((part) => {
        const reliefs = count * Math.min(1, Math.max(0, part * (1 + by)));
        return (counts.met + reliefs) / (counts.met + counts.missed + count);
      }),
    );
    const known = corners.filter(Number.isFinite);
    return {
      low: Math.max(bounds.low, Math.min(...known)),
      high: Math.min(bounds.high, Math.max(...known)),
    };
  };
  const { low, high } = range(0);
  return {
    low,
    high,
    ifFewer: range(-scenario),
    ifMore: range(scenario),
    seatedHours: {
      low: seated.low * seated.hours,
      best: seated.best * seated.hours,
      high: seated.high * seated.hours,
    },
    away: seated.away,
  };
}

/** Counted from the day's start: on two days a year an hour out. */
interface HourTable {
  readonly seated: Float64Array;
  readonly observed: Float64Array;
}
const hoursADay = 25;
const cellOf = (weekend: boolean, hour: number): number => (weekend ? hoursADay : 0) + hour;

const emptyTable = (): HourTable => ({
  seated: new Float64Array(2 * hoursADay),
  observed: new Float64Array(2 * hoursADay),
});

function hourTable(day: RhythmDay): HourTable {
  const table = emptyTable();
  for (const run of day.runs) {
    if (!observedStates.includes(run.state)) continue;
    for (const { hour, part } of hoursOf(day, run)) {
      const cell = cellOf(day.weekend, hour);
      table.observed[cell] = (table.observed[cell] ?? 0) + part;
      if (run.state === "seated") table.seated[cell] = (table.seated[cell] ?? 0) + part;
    }
  }
  return table;
}

/** All days near one day together; where too few of them are left, all there are. */
function tableNear(tables: readonly { readonly start: Instant; readonly table: HourTable }[], at: Instant) {
  const near = tables.filter(({ start }) => Math.abs(start - at) <= nearDays * 24 * millisecondsIn.hour);
  const sum = emptyTable();
  for (const { table } of near.length < fewestDays ? tables : near)
    for (let cell = 0; cell < 2 * hoursADay; cell += 1) {
      sum.seated[cell] = (sum.seated[cell] ?? 0) + (table.seated[cell] ?? 0);
      sum.observed[cell] = (sum.observed[cell] ?? 0) + (table.observed[cell] ?? 0);
    }
  return sum;
}

function* hoursOf(day: RhythmDay, { start, end }: { readonly start: Instant; readonly end: Instant }) {
  for (let at: number = start; at < end; ) {
    const hour = Math.floor((at - day.start) / millisecondsIn.hour);
    const next = Math.min(end, day.start + (hour + 1) * millisecondsIn.hour);
    yield { hour: Math.min(hour, hoursADay - 1), part: (next - at) / millisecondsIn.hour, at, next };
    at = next;
  }
}

/** Share of the unseen time that was sitting. */
function unseenSeated(home: readonly RhythmDay[], asked: readonly RhythmDay[]) {
  const tables = home.map((day) => ({ start: day.start, table: hourTable(day) }));
  let hours = 0;
  let away = false;
  // With nobody on it while noted as away, and with as much sitting then as ever.
  const least = { mean: 0, variance: 0 };
  const most = { mean: 0, variance: 0 };
  for (const day of asked) {
    const unseen = day.runs.filter(({ state }) => gapStates.includes(state) || state === "not-trusted");
    if (unseen.length === 0) continue;
    const table = tableNear(tables, day.start);
    for (const { hour, part, at, next } of unseen.flatMap((run) => [...hoursOf(day, run)])) {
      const cell = cellOf(day.weekend, hour);
      const alpha = (table.seated[cell] ?? 0) / alikeHours + 0.5;
      const all = (table.observed[cell] ?? 0) / alikeHours + 1;
      const share = alpha / all;
      const isAway = day.away.some(({ start, end }) => start < next && end > at);
      // Of the share itself, and of this hour about its share; hours in a row go together.
      const variance = alikeHours * (share * (1 - share)) * part * (part + 1 / (all + 1));
      for (const sum of isAway ? [most] : [least, most]) {
        sum.mean += share * part;
        sum.variance += variance;
      }
      hours += part;
      away ||= isAway;
    }
  }
  if (hours === 0) return null;
  const spread = ({ variance }: typeof least) => deviations * Math.sqrt(variance);
  return {
    low: Math.max(0, least.mean - spread(least)) / hours,
    best: least.mean / hours,
    high: Math.min(1, (most.mean + spread(most)) / hours),
    hours,
    away,
  };
}

/** Met share of the unseen days: the seen days' mean, give or take how days differ.
 *  @param unseenDays over how many days the unseen time is spread: their differences even out */
function metShare(seen: readonly ReliefCounts[], unseenDays: number) {
  const all = addCounts(seen);
  const mean = (all.met + 0.5) / (all.met + all.missed + 1);
  const weight = all.met + all.missed;
  const variance = seen.reduce(
    (sum, { met, missed }) => sum + ((met + missed) / weight) * (met / (met + missed) - mean) ** 2,
    0,
  );
  const spread = deviations * Math.sqrt(variance * (1 / Math.max(1, unseenDays) + 1 / seen.length));
  return { low: Math.max(0, mean - spread), high: Math.min(1, mean + spread) };
}
