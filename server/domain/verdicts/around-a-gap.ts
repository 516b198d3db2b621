import type { RecordedMinute, UnitRecord } from "../record/unit-record.ts";
import { celsius, type Instant, millisecondsIn, type Span } from "../units.ts";
import type { Comeback, GapContext, SeatOrCharge } from "./gap-context.ts";

/** Below this the cell is near its cut-off, above `plentyFrom` far from it; between, neither is said. Assumptions for
 *  a lithium-ion cell. */
const flatUpTo = 3_400;
const plentyFrom = 3_500;
/** Signals below this are at the edge of reach. Assumption for short-range radio. */
const weakBelow = -88;

export type AroundGap = Pick<GapContext, "comeback" | "battery" | "signal" | "before" | "after" | "colderBy">;

/** What the unit's own record says on either side of a gap.
 *  @param record covering at least an hour before and two hours after `span`
 *  @param filled late data have filled the gap since, so that the record runs through it */
export function aroundGap(record: UnitRecord, span: Span, ongoing: boolean, filled: boolean): AroundGap {
  const before = record.minutes.filter(({ at }) => at < span.start && at >= span.start - millisecondsIn.hour);
  const after = ongoing ? [] : record.minutes.filter(({ at }) => at >= span.end - millisecondsIn.minute / 2);
  const last = near(before.at(-1), span.start);
  const first = near(after[0], span.end);
  return {
    comeback: ongoing ? null : comebackOf(record, span, last, first, filled),
    battery: batteryOf(record, before, span),
    signal: signalOf(before),
    before: last ? stateOf(last) : null,
    after: first ? stateOf(first) : null,
    colderBy: colderBy(last, first),
  };
}

const near = (minute: RecordedMinute | undefined, edge: Instant): RecordedMinute | null =>
  minute && Math.abs(minute.at - edge) <= 30 * millisecondsIn.minute ? minute : null;

/** On the charger counts first, seated or not: it is what a flat battery comes back on. */
function stateOf(minute: RecordedMinute): SeatOrCharge {
  if (minute.power !== "on-battery") return "on-charge";
  return minute.seat === "loaded" ? "seated" : "off";
}

function comebackOf(
  record: UnitRecord,
  span: Span,
  last: RecordedMinute | null,
  first: RecordedMinute | null,
  filled: boolean,
): Comeback | null {
  if (filled) return { kind: "ran-on", fate: "delivered", messages: null };
  const restart = record.boots.find(
    ({ at }) => at > span.start && at <= span.end + 10 * millisecondsIn.minute,
  );
  const holes = record.holes.filter((one) => liesIn(one, span));
  const hole = holes.find(({ fate }) => fate === "lost") ?? holes[0];
  // A hole at the end of a boot that then restarted may be no more than what was unsent when the power went.
  if (hole && (!restart || hole.fate === "lost" || coversMost(hole, span))) {
    const messages = holes.reduce(
      (sum, { fromSequence, toSequence }) => sum + toSequence - fromSequence + 1,
      0,
    );
    const unbroken = !restart && coversMost(hole, span);
    return { kind: "ran-on", fate: hole.fate === "lost" ? "lost" : "owed", messages, unbroken };
  }
  if (restart && (!last || restart.boot > last.boot)) return { kind: "restarted", reset: restart.reset };
  if (last && first && first.boot > last.boot) return { kind: "restarted", reset: "unknown" };
  return stillQueued(record, span, last, first);
}

const edge = 30 * millisecondsIn.minute;

/** A hole that is open at one end speaks of the gap that its other end borders on; one open at both ends, of a boot of
 *  which nothing came, of none: nobody knows when it was. */
function liesIn({ after, before, endsAbout }: UnitRecord["holes"][number], span: Span): boolean {
  const end = before ?? endsAbout ?? null;
  if (after !== null && end !== null) return after < span.end && end > span.start;
  if (after !== null) return Math.abs(after - span.start) <= edge;
  return before !== null && Math.abs(before - span.end) <= edge;
}

/** Back in the boot that it left in, and greeting with a store full of what we don't have: it had been recording. */
function stillQueued(
  record: UnitRecord,
  span: Span,
  last: RecordedMinute | null,
  first: RecordedMinute | null,
): Comeback | null {
  if (!last || !first || first.boot !== last.boot) return null;
  const greeting = record.greetings.find(
    ({ at, boot }) => boot === last.boot && at >= span.end - 5 * millisecondsIn.minute,
  );
  return greeting && greeting.queued >= fewestQueued
    ? { kind: "ran-on", fate: "owed", messages: greeting.queued }
    : null;
}

/** One or two may be what it was just about to send. */
const fewestQueued = 3;

function coversMost(hole: UnitRecord["holes"][number], span: Span): boolean {
  if (hole.after === null || hole.before === null) return false;
  const covered = Math.min(hole.before, span.end) - Math.max(hole.after, span.start);
  return covered >= 0.8 * (span.end - span.start) && hole.before <= span.end + 5 * millisecondsIn.minute;
}

function batteryOf(record: UnitRecord, before: readonly RecordedMinute[], span: Span): GapContext["battery"] {
  const last = before.at(-1);
  if (!last) return null;
  // Told twice by some, as a fault and as a power event: it is one cut-off.
  const cutOffs = [
    ...record.faults.filter(({ code }) => code === "battery-cut-off"),
    ...record.powerEvents.filter(({ event }) => event === "cut-off"),
  ];
  const cutOffReported = cutOffs.some(
    ({ at }) => at >= span.start - 30 * millisecondsIn.minute && at <= span.start + 5 * millisecondsIn.minute,
  );
  if (cutOffReported || (last.cell <= flatUpTo && last.power === "on-battery"))
    return { path: "flat", last: last.cell, cutOffReported };
  return last.cell >= plentyFrom || last.power !== "on-battery"
    ? { path: "plenty", last: last.cell, cutOffReported }
    : null;
}

function signalOf(before: readonly RecordedMinute[]): GapContext["signal"] {
  const recent = before.slice(-30);
  if (recent.length < 10) return null;
  const heard = recent.map(({ signal }) => signal).filter((signal) => signal !== null);
  const minutesWithout = recent.length - heard.length;
  const atTheEnd = recent.slice(-5).filter(({ signal }) => signal === null).length;
  if (atTheEnd >= 3 || minutesWithout >= recent.length / 2) return { level: "none", minutesWithout };
  const middle = [...heard].sort((a, b) => a - b)[Math.floor(heard.length / 2)];
  if (middle === undefined) return null;
  return { level: middle < weakBelow ? "weak" : "fine", minutesWithout };
}

/** Only empty against empty: a seated person warms the insert. */
function colderBy(last: RecordedMinute | null, first: RecordedMinute | null): GapContext["colderBy"] {
  if (!last || !first || last.seat === "loaded" || first.seat === "loaded") return null;
  return celsius(Math.max(0, last.temperature - first.temperature));
}
