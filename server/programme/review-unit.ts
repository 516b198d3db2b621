import type { StretchId, UnitSerial } from "../domain/ids.ts";
import { type Instant, millisecondsIn } from "../domain/units.ts";
import type { Stretch, Verdict } from "../domain/verdicts/verdict.ts";
import type { LiveTopic } from "../live.ts";
import type { Services } from "../services.ts";
import type { Database } from "../store/database.ts";
import { forgetHealthDays } from "../store/health-days.ts";
import { loansReceivingFrom } from "../store/identity.ts";
import { type LoanRow, loanById, loansOfUnit } from "../store/loans.ts";
import { saveReviewMark } from "../store/review-marks.ts";
import { currentVerdict, saveVerdict } from "../store/verdicts.ts";
import { judgeSilentTogether } from "./judge-silent-together.ts";
import { judgeStretch } from "./judge-stretch.ts";
import { type LoanDays, loanDays } from "./loan-days.ts";
import { type LoanReview, type ReviewedStretch, reviewLoan, saveLoanReview } from "./review-loan.ts";
import type { News, StartedLoan } from "./review-range.ts";

export type Judge = (
  services: Services,
  request: { readonly loan: LoanRow; readonly stretch: Stretch; readonly days: LoanDays },
) => Promise<Verdict>;

interface ReviewedLoan {
  readonly loan: LoanRow & StartedLoan;
  readonly review: LoanReview;
}

/** What came after a gap (the queue it brought, the battery, the restart) still speaks of it for this long. */
const aftermath = 2 * millisecondsIn.hour;

/** Works through what is new of a unit: the news since its review mark, and the time that has passed. Ledger days and
 *  stretches are saved first, for the judging reads them; verdicts and the review mark follow in one transaction, so
 *  that a stop in between makes the next review do the same again. Where there is nothing to judge, all is saved at once.
 *
 *  A record belongs to the loan in force when it happened; what lies outside every loan is nobody's.
 *  @param options.afresh works through everything again, as a changed setting or an earlier plan asks
 *  @returns whether anything of the unit's loans was worked through */
export async function reviewUnit(
  services: Services,
  unit: UnitSerial,
  options: { readonly judge?: Judge; readonly afresh?: boolean } = {},
): Promise<boolean> {
  const { db } = services;
  const now = services.clock.now();
  const news = await services.telemetry.unreviewedOf(unit);
  const changed: News | null = options.afresh ? { throughMessage: 0, earliest: null } : news;
  const reviewed: ReviewedLoan[] = [];
  for (const loan of loansConcerned(db, unit)) {
    if (!hasStarted(loan)) continue;
    const review = await reviewLoan(services, loan, changed, now);
    if (review) reviewed.push({ loan, review });
  }
  const saving = { unit, reviewed, news, now };
  const judging = { changed, judge: options.judge ?? judgeStretch };
  const rejudged = await judgedAndSaved(services, saving, judging);
  for (const { loan, review } of reviewed) {
    const gaps = review.stretches.filter(
      ({ stretch, change }) => stretch.kind === "gap" && change !== "none",
    );
    await judgeSilentTogether(
      services,
      loan.id,
      gaps.map(({ stretch }) => stretch),
    );
  }
  services.live.changed(...topicsOf(reviewed, new Set(rejudged)));
  return reviewed.length > 0;
}

interface Saving {
  readonly unit: UnitSerial;
  readonly reviewed: readonly ReviewedLoan[];
  readonly news: News | null;
  readonly now: Instant;
}

/** @returns the stretches of which something new is held */
async function judgedAndSaved(
  services: Services,
  saving: Saving,
  { changed, judge }: { readonly changed: News | null; readonly judge: Judge },
): Promise<StretchId[]> {
  const { db } = services;
  const waiting = saving.reviewed.map(({ loan, review }) => ({
    loan,
    review,
    stretches: review.stretches.filter((entry) => wantsJudging(services, entry, changed)),
  }));
  if (waiting.every(({ stretches }) => stretches.length === 0)) {
    db.transaction((tx) => {
      saveReviews(services, tx, saving);
      markReviewed(tx, saving);
    });
    return [];
  }
  db.transaction((tx) => saveReviews(services, tx, saving));
  const judged = await judgeAll(services, waiting, judge);
  return db.transaction((tx) => {
    markReviewed(tx, saving);
    return judged.flatMap(({ stretch: { id, end }, verdict }) =>
      saveVerdict(services, tx, { stretch: id, ongoing: end === null, verdict, at: saving.now }) ? [id] : [],
    );
  });
}

function saveReviews(services: Services, tx: Database, { reviewed, now }: Saving): void {
  for (const { review } of reviewed) saveLoanReview(services, tx, review, now);
}

function markReviewed(tx: Database, { unit, news, now }: Saving): void {
  if (!news) return;
  saveReviewMark(tx, unit, { throughMessage: news.throughMessage, at: now });
  // Nothing will call it news again: what was worked out of the days it changed is worthless.
  forgetHealthDays(tx, unit, news.earliest);
}

/** The unit's own loans, and those that a part of its record has been given to. */
function loansConcerned(db: Database, unit: UnitSerial): readonly LoanRow[] {
  const own = loansOfUnit(db, unit);
  const receiving = loansReceivingFrom(db, unit).flatMap((id) => loanById(db, id) ?? []);
  return [...own, ...receiving.filter(({ id }) => !own.some((loan) => loan.id === id))];
}

const hasStarted = <Row extends LoanRow>(loan: Row): loan is Row & StartedLoan => loan.startedAt !== null;

interface Waiting extends ReviewedLoan {
  readonly stretches: readonly ReviewedStretch[];
}

/** A stretch that can't be judged keeps the verdict it has and is tried again; the others go on. */
async function judgeAll(
  services: Services,
  waiting: readonly Waiting[],
  judge: Judge,
): Promise<{ stretch: Stretch; verdict: Verdict }[]> {
  const judged: { stretch: Stretch; verdict: Verdict }[] = [];
  for (const { loan, review, stretches } of waiting) {
    const days = loanDays(services, review.read);
    for (const { stretch } of stretches) {
      try {
        judged.push({ stretch, verdict: await judge(services, { loan, stretch, days }) });
      } catch (error) {
        services.log.error({ err: error, stretch: stretch.id }, "a stretch could not be judged");
      }
    }
  }
  return judged;
}

function wantsJudging(
  services: Services,
  { stretch, change }: ReviewedStretch,
  changed: News | null,
): boolean {
  if (change !== "none" || stretch.end === null) return true;
  if (changed && (changed.earliest === null || changed.earliest <= stretch.end + aftermath)) return true;
  return currentVerdict(services.db, stretch.id) === null;
}

function topicsOf(reviewed: readonly ReviewedLoan[], rejudged: ReadonlySet<string>): LiveTopic[] {
  const topics: LiveTopic[] = [];
  for (const { loan, review } of reviewed) {
    topics.push(`loan:${loan.id}`, `person:${loan.borrowerId}`);
    for (const { stretch, change } of review.stretches)
      if (change !== "none" || rejudged.has(stretch.id)) topics.push("clinic", `stretch:${stretch.id}`);
  }
  return topics;
}
