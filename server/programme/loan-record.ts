import { asSat, type PersonalRecord } from "../domain/identity-trouble/lay.ts";
import type { LoanId, UnitSerial } from "../domain/ids.ts";
import type { UnitRecord } from "../domain/record/unit-record.ts";
import { type Instant, instant, type Span } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { givenTo, takenFrom } from "../store/identity.ts";

export interface LoanRecord {
  readonly record: UnitRecord;
  /** Recorded, but not by this person: nothing is known of them in it. */
  readonly notTheirs: readonly Span[];
}

/** What was recorded of a loan: by its own unit, less what somebody confirmed to be another's, with what other units
 *  recorded of it, and a cushion that lay turned read as the person sat. The raw record is only read.
 *  @param knownBy leaves out what arrived later, and where it was filed later; null: as known now */
export async function loanRecord(
  services: Pick<Services, "db" | "telemetry">,
  loan: { readonly id: LoanId; readonly unitSerial: UnitSerial },
  span: Span,
  knownBy: Instant | null = null,
): Promise<LoanRecord> {
  const { db, telemetry } = services;
  const by = knownBy === null ? [] : ([knownBy] as const);
  const own = await telemetry.read(loan.unitSerial, span, ...by);
  const out = takenFrom(db, loan.id, span, knownBy);
  const given = givenTo(db, loan.id, span, knownBy).filter(({ lay }) => lay === null);
  if (out.length === 0 && given.length === 0) return { record: own, notTheirs: [] };
  const taken = out.filter(({ lay }) => lay === null).map(spanOf);
  const turned = out.flatMap((one) => (one.lay === null ? [] : [{ ...spanOf(one), lay: one.lay }]));
  const parts = [personal(own, (at) => !isIn(at, taken) && !isIn(at, turned))];
  for (const { start, end, lay } of turned)
    parts.push(
      asSat(
        personal(own, (at) => at >= start && at < end && !isIn(at, taken)),
        lay,
      ),
    );
  for (const { unitSerial, startsAt, endsAt } of given) {
    const start = instant(Math.max(startsAt, span.start));
    const end = instant(Math.min(endsAt, span.end));
    parts.push(
      personal(await telemetry.read(unitSerial, { start, end }, ...by), (at) => at >= start && at < end),
    );
  }
  const record = {
    ...own,
    minutes: byTime(parts.flatMap(({ minutes }) => minutes)),
    reliefs: byTime(parts.flatMap(({ reliefs }) => reliefs)),
    frames: byTime(parts.flatMap(({ frames }) => frames)),
  };
  return { record, notTheirs: without(taken, given.map(spanOf)) };
}

const spanOf = ({ startsAt, endsAt }: { startsAt: Instant; endsAt: Instant }): Span => ({
  start: startsAt,
  end: endsAt,
});
const isIn = (at: Instant, spans: readonly Span[]): boolean =>
  spans.some(({ start, end }) => at >= start && at < end);

/** What the person did; restarts, missing numbers and power stay the unit's own affair. */
const personal = (
  { minutes, reliefs, frames }: UnitRecord,
  keeps: (at: Instant) => boolean,
): PersonalRecord => ({
  minutes: minutes.filter(({ at }) => keeps(at)),
  reliefs: reliefs.filter(({ at }) => keeps(at)),
  frames: frames.filter(({ at }) => keeps(at)),
});

const byTime = <Entry extends { readonly at: Instant }>(entries: readonly Entry[]): Entry[] =>
  [...entries].sort((a, b) => a.at - b.at);

/** Parts of `spans` that none of `others` covers. */
function without(spans: readonly Span[], others: readonly Span[]): Span[] {
  return others.reduce<Span[]>(
    (left, other) =>
      left.flatMap(({ start, end }) =>
        [
          { start, end: instant(Math.min(end, other.start)) },
          { start: instant(Math.max(start, other.end)), end },
        ].filter((part) => part.start < part.end),
      ),
    [...spans],
  );
}
