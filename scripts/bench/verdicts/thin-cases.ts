import type { UnitRecord } from "../../../server/domain/record/unit-record.ts";
import { isWeekend, type LocalDay, localDayOf } from "../../../server/domain/time/local-day.ts";
import { type Instant, instant, millisecondsIn } from "../../../server/domain/units.ts";
import { aroundThin, type HabitDay, triesIn } from "../../../server/domain/verdicts/around-a-thin-stretch.ts";
import { digestOf } from "../../../server/domain/verdicts/day-digest.ts";
import type { Eyes, ThinContext } from "../../../server/domain/verdicts/thin-context.ts";
import type { ThinTruth } from "./causes-in-truth.ts";
import { type Known, soundEyes } from "./known.ts";
import { atMinute, epoch } from "./record-of.ts";
import { changedHold, planHold } from "./reliefs.ts";
import { plansOf, type Reviewed, zone } from "./review-person.ts";
import type { SimulatedPerson } from "./simulate-person.ts";
import { slice } from "./slice.ts";

export interface ThinCase {
  readonly person: number;
  readonly context: ThinContext;
  readonly truth: ThinTruth;
  /** Reliefs enough were done, and the unit or the plan's rule did not show them; null: another's sitting. */
  readonly doneUnseen: boolean | null;
}

const minute = millisecondsIn.minute;

export function thinCasesOf(
  index: number,
  one: SimulatedPerson,
  record: UnitRecord,
  reviewed: Reviewed,
): ThinCase[] {
  return thinContextsOf(one, record, reviewed).map((context) => ({
    person: index,
    context,
    ...truthOf(one, minuteOf(context.span.start), minuteOf(context.span.end)),
  }));
}

const minuteOf = (at: Instant): number => Math.round((at - epoch) / minute);

/** What is known of the thin stretches; the truth is not looked up. */
export function thinContextsOf(one: SimulatedPerson, record: UnitRecord, reviewed: Reviewed): ThinContext[] {
  const plans = plansOf(one.sitting);
  const habits = habitDays(record, reviewed);
  const places = new Map(habits.map(({ day }, place) => [day, place]));
  return reviewed.thin.map(({ start, end }) => {
    const span = { start, end: end ?? reviewed.until };
    const within = slice(record, span);
    const plan = plans.findLast(({ validFrom }) => validFrom <= start);
    const today = places.get(localDayOf(start, zone)) ?? 0;
    const days = (from: number, to: number) =>
      habits.slice(Math.max(0, today + from), Math.max(0, today + to + 1));
    const from = minuteOf(span.start);
    const to = minuteOf(span.end);
    return {
      span,
      ongoing: end === null,
      due: Math.floor((to - from) / 30),
      eyes: eyesAt(one.known, from),
      ...aroundThin(
        days(-15, -2),
        days(-1, 1),
        digestOf(within),
        days(-75, -16),
        isWeekend(localDayOf(start, zone)),
      ),
      tries: triesIn(
        within.reliefs,
        plan ?? null,
        plans.find(({ version }) => version === (plan?.version ?? 0) - 1) ?? null,
      ),
      note: noteBefore(one.known, from, to),
      planChangedAt:
        plan && plan.version > 1 && plan.validFrom > start - 28 * 24 * millisecondsIn.hour
          ? plan.validFrom
          : null,
    };
  });
}

function habitDays(record: UnitRecord, reviewed: Reviewed): (HabitDay & { readonly day: LocalDay })[] {
  return reviewed.days.map(({ day, start, end, due }) => ({
    day,
    met: due.filter(({ outcome }) => outcome === "met").length,
    missed: due.filter(({ outcome }) => outcome === "missed").length,
    weekend: isWeekend(day),
    digest: digestOf(slice(record, { start, end })),
  }));
}

function eyesAt(known: Known, at: number): Eyes | null {
  if (!known.assessed) return null;
  return known.eyes.find(({ from, to }) => at >= from && at < to)?.eyes ?? soundEyes;
}

function noteBefore(known: Known, from: number, to: number): ThinContext["note"] {
  const touching = known.notes.filter((note) => note.from < to && note.from > from - 5 * 1440);
  for (const kind of ["washed-cover", "new-chair", "visit"] as const) {
    const note = touching.find((each) => each.kind === kind);
    if (note) return { kind, from: at(note.from) };
  }
  return "none";
}
const at = (minuteAt: number): Instant => instant(atMinute(Math.floor(minuteAt)));

/** By what was really done in the stretch: enough for one due in three, and it wasn't shown; or it wasn't done. */
function truthOf(
  { sitting }: SimulatedPerson,
  from: number,
  to: number,
): Pick<ThinCase, "truth" | "doneUnseen"> {
  let others = 0;
  for (let minuteAt = from; minuteAt < to; minuteAt += 1) others += sitting.other[minuteAt] ?? 0;
  if (others > (to - from) / 2) return { truth: "other-seat", doneUnseen: null };
  const here = sitting.episodes.filter((each) => each.from < to && each.to > from);
  const done = sitting.reliefs.filter((each) => each.at > from && each.at < to && each.complete);
  const due = Math.floor((to - from) / 30);
  const enough = done.filter(({ holdSeconds }) => holdSeconds >= planHold).length * 3 >= due;
  if (enough) {
    const unseen = done.filter(({ seenAs }) => seenAs === null).length;
    const blinding = here.find(({ cause }) => blindingCauses.includes(cause));
    if (blinding && unseen > 0) return { truth: blinding.cause, doneUnseen: true };
    const tooShort = done.some(({ holdSeconds }) => holdSeconds >= planHold && holdSeconds < changedHold);
    if (tooShort && here.some(({ cause }) => cause === "rules-changed"))
      return { truth: "rules-changed", doneUnseen: true };
    return { truth: "unseen-method", doneUnseen: true };
  }
  const fewer = here.find(({ cause }) => cause === "fewer-done" || cause === "prompts-fading");
  return { truth: fewer?.cause ?? "ordinary", doneUnseen: false };
}

const blindingCauses: readonly ThinTruth[] = ["line-dead", "drift", "unseen-method", "insert-moved"];
