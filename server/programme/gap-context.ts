import type { LoanId } from "../domain/ids.ts";
import { instantAt, localTimeOf } from "../domain/time/local-day.ts";
import { type Instant, instant, millisecondsIn, type Span } from "../domain/units.ts";
import { aroundGap } from "../domain/verdicts/around-a-gap.ts";
import type { GapContext, NoteClue } from "../domain/verdicts/gap-context.ts";
import { habitsBefore } from "../domain/verdicts/habits-before.ts";
import { type OtherUnit, silentTogether } from "../domain/verdicts/silent-together.ts";
import { toldAround } from "../domain/verdicts/told-around.ts";
import type { Stretch } from "../domain/verdicts/verdict.ts";
import type { Services } from "../services.ts";
import { borrowerById } from "../store/borrowers.ts";
import {
  countLoansAt,
  countLoansInAreaAt,
  earlierGapsOf,
  findingsDuring,
  gapsOfOthersDuring,
  hadGoodCertificate,
  lastAssessed,
  notesTouching,
  otherLoansAt,
} from "../store/stretch-clues.ts";
import type { JudgedLoan } from "./judged-loan.ts";
import type { LoanDays } from "./loan-days.ts";

const hour = millisecondsIn.hour;
/** The restart that ended a gap is itself a sign: it may be the first of those found. */
export const restartWithin = 10 * millisecondsIn.minute;
const day = 24 * hour;

/** Gathers everything known that bears on a gap. */
export async function gapContextOf(
  services: Services,
  loan: JudgedLoan,
  stretch: Stretch,
  days: LoanDays,
): Promise<GapContext> {
  const ongoing = stretch.end === null;
  const span = { start: stretch.start, end: stretch.end ?? services.clock.now() };
  const nearby = { start: instant(span.start - 2 * hour), end: instant(span.end + 2 * hour) };
  const record = await services.telemetry.read(loan.unitSerial, nearby);
  const findings = findingsDuring(services.db, loan.unitSerial, {
    start: span.start,
    end: instant(span.end + restartWithin),
  });
  const assessed = lastAssessed(services.db, loan.unitSerial);
  const faded = findings.some(({ kind }) => kind === "capacity-fade");
  const good = hadGoodCertificate(services.db, loan.id, span.start);
  const around = aroundGap(record, span, ongoing, stretch.filledAt !== null);
  // A unit that keeps running flat restarts each time: such restarts are the battery's, told by it already.
  const signs = findings
    .filter(({ kind }) => kind !== "reset-loop" || around.battery?.path !== "flat")
    .flatMap(({ kind }) => signWords[kind] ?? []);
  const runs = days.runs(loan, { start: instant(span.start - 15 * day), end: span.start });
  return {
    span,
    ongoing,
    filledAt: stretch.filledAt,
    ...around,
    together: await togetherOf(services, loan, span, ongoing),
    ...habitsBefore(runs, span),
    capacity: faded ? { state: "faded" } : assessed?.capacityTold ? { state: "sound" } : null,
    note: noteOver(services, loan, span),
    hour: localTimeOf(span.start, services.zone).hour,
    certificate: good === null ? null : good ? "good" : "refused",
    electronics: assessed ? { signs } : null,
    history: ongoing ? historyBefore(services, loan, span) : null,
    told: toldAround(record, span),
  };
}

/** Of 60 days; older ones may be of another relay or home. */
function historyBefore(services: Services, loan: JudgedLoan, span: Span): GapContext["history"] {
  const lasted = span.end - span.start;
  const asLong = earlierGapsOf(services.db, loan.id, instant(span.start - 60 * day), span.start).filter(
    ({ startsAt, endsAt }) => endsAt !== null && endsAt - startsAt >= lasted,
  );
  const filled = asLong.filter(({ filledAt }) => filledAt !== null).length;
  return { filled, others: asLong.length - filled };
}

const signWords: Readonly<Record<string, string>> = {
  "reset-loop": "repeated restarts",
  wet: "moisture",
  "charge-heat": "heat while charging",
  "two-devices": "two devices under one name",
};

/** A silence is listed when it has lasted long enough to be a gap and its unit has been reviewed. Until this long after it
 *  began, each other unit is asked by itself; after a longer stop of the server, gaps listed late have this one judged
 *  again (judge-silent-together.ts). */
const listedWithin = 6 * hour;

async function togetherOf(services: Services, loan: JudgedLoan, span: Span, ongoing: boolean) {
  const { db } = services;
  const area = borrowerById(db, loan.borrowerId)?.area ?? "";
  const around = { start: instant(span.start - hour), end: instant(span.start + hour) };
  const silent = silentAround(gapsOfOthersDuring(db, loan.id, around), span.start, area);
  if (ongoing && span.end - span.start < listedWithin)
    return silentTogether(span, ongoing, await everyOther(services, loan, span, { area, silent }));
  const others = [...silent.values()];
  // The loan asked about is one of those counted.
  const near = area === "" ? 0 : countLoansInAreaAt(db, span.start, area) - 1;
  return silentTogether(span, ongoing, others, {
    others: countLoansAt(db, span.start) - 1 - others.length,
    near: Math.max(0, near - others.filter((other) => other.near).length),
  });
}

type Silent = OtherUnit & { readonly gaps: { start: Instant; end: Instant | null }[] };

function silentAround(
  gaps: ReturnType<typeof gapsOfOthersDuring>,
  at: Instant,
  area: string,
): Map<LoanId, Silent> {
  const silent = new Map<LoanId, Silent>();
  for (const { loanId, startsAt, endsAt, ...lent } of gaps) {
    if (lent.loanStartedAt === null || lent.loanStartedAt > at) continue;
    if (lent.loanEndedAt !== null && lent.loanEndedAt < at) continue;
    const known = silent.get(loanId) ?? {
      near: area !== "" && lent.area === area,
      gaps: [],
      lastRecorded: null,
    };
    known.gaps.push({ start: startsAt, end: endsAt });
    silent.set(loanId, known);
  }
  return silent;
}

/** Each by itself, with the end of its newest record. */
async function everyOther(
  { db, telemetry }: Services,
  loan: JudgedLoan,
  span: Span,
  { area, silent }: { readonly area: string; readonly silent: ReadonlyMap<LoanId, Silent> },
): Promise<OtherUnit[]> {
  const others = otherLoansAt(db, loan.id, span.start);
  const last = await telemetry.lastRecordedAt(others.map(({ unitSerial }) => unitSerial));
  return others.map((other) => ({
    near: area !== "" && other.area === area,
    gaps: silent.get(other.id)?.gaps ?? [],
    lastRecorded: last.get(other.unitSerial) ?? null,
  }));
}

/** The most telling note over the gap; a washed cover or a visit counts from the day before. */
function noteOver(services: Services, loan: JudgedLoan, span: Span): GapContext["note"] {
  const dayBefore = instantAt(localTimeOf(instant(span.start - day), services.zone).day, 0, 0, services.zone);
  const notes = notesTouching(services.db, loan.id, { start: dayBefore, end: span.end });
  for (const kind of mostTelling) {
    const note = notes.find((one) => one.kind === kind);
    if (note) return { kind, from: note.fromAt };
  }
  return "none";
}

const mostTelling: readonly NoteClue[] = ["hospital", "holiday", "washed-cover", "visit"];
