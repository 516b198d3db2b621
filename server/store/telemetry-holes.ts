import { decodeUplink } from "../../firmware-protocol/src/decode.ts";
import type { UnitSerial } from "../domain/ids.ts";
import type { SequenceHole } from "../domain/record/unit-record.ts";
import { type Instant, instant, millisecondsIn, type Span } from "../domain/units.ts";
import type { LostReports } from "./telemetry-lost.ts";
import { nearestAfter, nearestBefore, packedSequences } from "./telemetry-packed-names.ts";
import { mergeRanges, type SequenceRange } from "./telemetry-ranges.ts";
import type { TelemetryTables } from "./telemetry-tables.ts";

/** More ranges than any honest unit has; bounds what one that skips every other number can make us read. */
const mostRanges = 2_000;
/** A month of single minutes that no one has packed yet. */
const mostRecentNames = 50_000;

interface Gap extends SequenceRange {
  readonly boot: number;
}

/** Messages known to exist that are missing around `span`. Known to exist: a later sequence of the same boot has
 *  come, or the unit itself reported them lost. What a boot wrote after its last message that came can't be known. */
export function holesWithin(
  tables: TelemetryTables,
  lostReports: LostReports,
  unit: UnitSerial,
  span: Span,
  knownBy: Instant,
): SequenceHole[] {
  const isLongAgo = longAgo(tables, unit, span);
  const missing = gapsIn(settledBy(tables, unit, knownBy)).filter((gap) => !isLongAgo(gap));
  const reported = lostReports.of(unit).filter((lost) => lost.receivedAt <= knownBy && !isLongAgo(lost));
  const lost = mergedByBoot(reported).flatMap((range) =>
    without(range, arrivedAfterAll(tables, unit, range, knownBy)),
  );
  const awaited = missing.flatMap((gap) => without(gap, lost));
  return [
    ...lost.map((gap) => ({ gap, fate: "lost" as const })),
    ...awaited.map((gap) => ({ gap, fate: "awaited" as const })),
  ]
    .map(({ gap, fate }) => located(tables, unit, gap, fate, knownBy))
    .filter((hole) => touches(hole, span))
    .sort((a, b) => a.boot - b.boot || a.fromSequence - b.fromSequence);
}

/** No message tells of a longer stretch than a day: what was numbered before one that had ended a day and an hour before
 *  the span lies before it. So a hole costs a reading what it is near to, and not what the history holds. */
const surelyBefore = 25 * millisecondsIn.hour;

function longAgo({ blocks }: TelemetryTables, unit: UnitSerial, { start }: Span): (gap: Gap) => boolean {
  const last = blocks.lastEndedBy(unit, start - surelyBefore);
  if (last === null) return () => false;
  return ({ boot, to }) => boot < last.boot || (boot === last.boot && to < last.toSequence);
}

const latestInstant = Number.MAX_SAFE_INTEGER;

/** As of now the ranges are at hand; as of an earlier day they are counted from the messages that had come. */
function settledBy(tables: TelemetryTables, unit: UnitSerial, knownBy: Instant): Gap[] {
  const { statements } = tables;
  if (knownBy === latestInstant) {
    const ranges = statements.rangesOfUnit.all(unit, mostRanges);
    const last = ranges.length === mostRanges ? ranges.at(-1) : undefined;
    const recent = statements.recentRanges.all(unit, mostRecentNames);
    // Where the list was cut, what lies behind it would stand before a gap that isn't there.
    return mergedByBoot([...ranges, ...(last ? recent.flatMap((range) => upTo(range, last)) : recent)]);
  }
  const named = [
    ...statements.sequencesKnown.all(unit, knownBy),
    ...packedSequences(tables, unit, knownBy),
    ...namesKeptAside(tables, unit, knownBy),
  ];
  return mergedByBoot(named.map(alone));
}

const alone = ({ boot, sequence }: { boot: number; sequence: number }): Gap => ({
  boot,
  from: sequence,
  to: sequence,
});

function upTo(range: Gap, { boot, to }: Gap): Gap[] {
  if (range.boot < boot) return [range];
  return range.boot === boot && range.from <= to ? [{ ...range, to: Math.min(range.to, to) }] : [];
}

function namesKeptAside({ statements }: TelemetryTables, unit: UnitSerial, knownBy: Instant) {
  return statements.asideOf.all(unit, knownBy).flatMap((payload) => {
    const message = decodeUplink(payload);
    const envelope = message.kind === "unreadable" ? message.envelope : message;
    return envelope?.unit === unit ? [{ boot: envelope.boot, sequence: envelope.sequence }] : [];
  });
}

function gapsIn(received: readonly Gap[]): Gap[] {
  const gaps: Gap[] = [];
  let boot = -1;
  let next = 0;
  for (const range of received) {
    if (range.boot !== boot) next = 0;
    boot = range.boot;
    if (range.from > next) gaps.push({ boot, from: next, to: range.from - 1 });
    next = range.to + 1;
  }
  return gaps;
}

function mergedByBoot(ranges: readonly Gap[]): Gap[] {
  const byBoot = new Map<number, Gap[]>();
  for (const range of ranges) {
    const known = byBoot.get(range.boot);
    if (known === undefined) byBoot.set(range.boot, [range]);
    else known.push(range);
  }
  return [...byBoot]
    .sort(([a], [b]) => a - b)
    .flatMap(([boot, ofBoot]) => mergeRanges(ofBoot).map((range) => ({ boot, ...range })));
}

/** A unit may have reported a message lost that an earlier sending had brought us. */
function arrivedAfterAll(
  tables: TelemetryTables,
  unit: UnitSerial,
  { boot, from, to }: Gap,
  knownBy: Instant,
): Gap[] {
  const recent = tables.statements.sequencesBetween.all(unit, boot, from, to, knownBy);
  const packed = packedSequences(tables, unit, knownBy, { boot, from, to });
  return mergedByBoot([...recent.map((sequence) => ({ boot, sequence })), ...packed].map(alone));
}

/** What is left of `gap` outside `others`. */
function without(gap: Gap, others: readonly Gap[]): Gap[] {
  let left: Gap[] = [gap];
  for (const { boot, from, to } of others) {
    if (boot !== gap.boot) continue;
    left = left.flatMap((part) => {
      if (to < part.from || from > part.to) return [part];
      const before = from > part.from ? [{ ...part, to: from - 1 }] : [];
      const after = to < part.to ? [{ ...part, from: to + 1 }] : [];
      return [...before, ...after];
    });
  }
  return left;
}

function located(
  tables: TelemetryTables,
  unit: UnitSerial,
  gap: Gap,
  fate: SequenceHole["fate"],
  knownBy: Instant,
): SequenceHole {
  const { boot, from, to } = gap;
  const last = nearestBefore(tables, unit, { boot, sequence: from }, knownBy);
  const before = nearestAfter(tables, unit, { boot, sequence: to }, knownBy);
  const after = last ?? (before === null ? null : bootStart(tables, unit, boot));
  const endsAbout = before === null && last !== null ? endAbout(tables, unit, gap, last, knownBy) : null;
  return {
    boot,
    fromSequence: from,
    toSequence: to,
    after,
    before,
    ...(endsAbout === null ? {} : { endsAbout }),
    fate,
  };
}

/** Uptime dates the start of a boot whose first messages are missing; where no clock spoke for it, nothing does. */
function bootStart({ anchors }: TelemetryTables, unit: UnitSerial, boot: number): Instant | null {
  const anchor = anchors.of(unit, boot);
  return anchor?.basis === "clock" ? anchor.bootedAt : null;
}

/** So many messages before a loss tell how long one told of. */
const measuredBy = 30;

/** @returns null where too few came before it, or the boot after it began earlier than that */
function endAbout(
  tables: TelemetryTables,
  unit: UnitSerial,
  { boot, from, to }: Gap,
  last: Instant,
  knownBy: Instant,
): Instant | null {
  if (from < measuredBy + 1) return null;
  const earlier = nearestBefore(tables, unit, { boot, sequence: from - measuredBy }, knownBy);
  if (earlier === null) return null;
  const about = last + ((to - from + 1) * (last - earlier)) / measuredBy;
  const next = tables.anchors.of(unit, boot + 1);
  return next && next.bootedAt < about ? null : instant(about);
}

/** A hole open at one side reaches as far as it can: nothing is known that would keep it out of the span. */
const touches = ({ after, before }: SequenceHole, span: Span): boolean =>
  (after === null || after < span.end) && (before === null || before > span.start);
