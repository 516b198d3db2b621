import type { LeanDirection } from "../domain/condition/condition.ts";
import { addDays, dayBounds, isWeekend, localDayOf } from "../domain/time/local-day.ts";
import { instant, millisecondsIn, type Span } from "../domain/units.ts";
import { aroundThin, type HabitDay, triesIn } from "../domain/verdicts/around-a-thin-stretch.ts";
import type { NoteClue } from "../domain/verdicts/gap-context.ts";
import type { Eyes, ThinContext } from "../domain/verdicts/thin-context.ts";
import type { Stretch } from "../domain/verdicts/verdict.ts";
import type { Services } from "../services.ts";
import { findingsDuring, lastAssessed, notesTouching } from "../store/stretch-clues.ts";
import type { JudgedLoan } from "./judged-loan.ts";
import type { CountedDay, LoanDays } from "./loan-days.ts";

const day = 24 * millisecondsIn.hour;

/** Gathers everything known that bears on a thin stretch. */
export async function thinContextOf(
  services: Services,
  loan: JudgedLoan,
  stretch: Stretch,
  days: LoanDays,
): Promise<ThinContext> {
  const span = { start: stretch.start, end: stretch.end ?? services.clock.now() };
  const part = await days.partOf(loan, span);
  const habit = await habitDays(services, loan, span, days);
  const plans = days.plans(loan);
  const plan = plans.findLast(({ validFrom }) => validFrom <= span.start) ?? null;
  const length = (span.end - span.start) / millisecondsIn.minute;
  return {
    span,
    ongoing: stretch.end === null,
    due: plan ? Math.floor(length / plan.interval) : 0,
    eyes: eyesOf(services, loan, span),
    ...aroundThin(
      habit.earlier,
      habit.lately,
      part.digest,
      habit.longAgo,
      isWeekend(localDayOf(span.start, services.zone)),
    ),
    tries: triesIn(
      part.reliefs,
      plan,
      plans.find(({ version }) => version === (plan?.version ?? 0) - 1) ?? null,
    ),
    note: noteBefore(services, loan, span),
    // A first version is no change.
    planChangedAt: plan && plan.version > 1 && plan.validFrom > span.start - 28 * day ? plan.validFrom : null,
  };
}

/** The three days around the stretch, the 14 before them, and the 60 before those, of this loan only. */
async function habitDays(services: Services, loan: JudgedLoan, span: Span, days: LoanDays) {
  const today = localDayOf(span.start, services.zone);
  const start = dayBounds(addDays(today, -75), services.zone).start;
  const end = dayBounds(addDays(today, 1), services.zone).end;
  const earlier: HabitDay[] = [];
  const lately: HabitDay[] = [];
  const longAgo: CountedDay[] = [];
  const earlierFrom = addDays(today, -15);
  const latelyFrom = addDays(today, -1);
  for (const counted of days.counted(loan, { start, end })) {
    if (counted.day < earlierFrom) longAgo.push(counted);
    else
      (counted.day < latelyFrom ? earlier : lately).push(
        isDigested(counted) ? counted : { ...counted, digest: await days.digestOf(loan, counted) },
      );
  }
  return { earlier, lately, longAgo };
}

const isDigested = (day: CountedDay): day is CountedDay & HabitDay => day.digest !== null;

/** Findings under which the unit's word on what it saw can't be taken whole. */
const gridFindings: readonly string[] = [
  "row-open",
  "column-open",
  "cell-open",
  "cell-stuck",
  "lines-shorted",
  "connector-loose",
  "self-test-failed",
];
const offFindings: readonly string[] = ["zero-drift", "gain-or-weight", "moisture"];
const insertFindings: readonly string[] = ["insert-turned", "insert-shifted", "insert-folded"];

/** No fault found is no proof of sight: a unit whose grid was never looked at, for it sent no picture of it, may be blind. */
function eyesOf(services: Services, loan: JudgedLoan, span: Span): Eyes | null {
  const assessment = lastAssessed(services.db, loan.unitSerial);
  if (!assessment) return null;
  const findings = findingsDuring(services.db, loan.unitSerial, span);
  const dead = findings.find(({ kind }) => gridFindings.includes(kind));
  const drifted = findings.some(({ kind }) => offFindings.includes(kind));
  const insertOff = findings.some(({ kind }) => insertFindings.includes(kind));
  const hidden = hiddenDirections(assessment.visibility);
  if (dead) {
    const deadLine = dead.where === "" ? "a line of the grid" : dead.where;
    return { hidden, deadLine, drifted, insertOff };
  }
  if (hidden === null && !drifted && !insertOff) return null;
  return { hidden: hidden ?? [], deadLine: null, drifted, insertOff };
}

function hiddenDirections(
  visibility: Readonly<Record<string, { readonly best: number }>> | null,
): readonly LeanDirection[] | null {
  if (!visibility) return null;
  return directions.filter((direction) => (visibility[direction]?.best ?? 10) <= 5);
}

const directions: readonly LeanDirection[] = ["left", "right", "forward"];

function noteBefore(services: Services, loan: JudgedLoan, span: Span): ThinContext["note"] {
  const notes = notesTouching(services.db, loan.id, { start: instant(span.start - 5 * day), end: span.end });
  for (const kind of mostTelling) {
    const note = notes.findLast((one) => one.kind === kind);
    if (note) return { kind, from: note.fromAt };
  }
  return "none";
}

const mostTelling: readonly NoteClue[] = ["washed-cover", "new-chair", "visit"];
