import { z } from "zod";
import type { DayBounds } from "../../views/clinic/bounds-part.tsx";
import { GapPage, NotYetPage } from "../../views/clinic/gap-page.tsx";
import type { Problems, Typed } from "../../views/layout/forms.tsx";
import { boundsOf } from "../domain/adherence/bounds.ts";
import { stretchId } from "../domain/ids.ts";
import { dayBounds, localDayOf } from "../domain/time/local-day.ts";
import type { Instant, Span } from "../domain/units.ts";
import { harmTable } from "../domain/verdicts/harm.ts";
import { type HeldVerdict, sides } from "../domain/verdicts/verdict.ts";
import { askForTest } from "../programme/ask-for-test.ts";
import { commandUnit } from "../programme/command-unit.ts";
import { heldTogether } from "../programme/incident-lines.ts";
import { recordLearned } from "../programme/record-learned.ts";
import { loadFindingsOf } from "../programme/withdraw-identity.ts";
import type { Services } from "../services.ts";
import { type JudgedStretch, ledgerOfPersonDuring, stretchForClinician } from "../store/clinic-stretches.ts";
import { learnedOf } from "../store/learned.ts";
import { testRequestsOf } from "../store/test-requests.ts";
import { commandLinesOf } from "../store/unit-commands.ts";
import { verdictHistory } from "../store/verdicts.ts";
import { fairCounts } from "./clinic-counts.ts";
import { clinicActor, clinicFrame, clinicianOf } from "./clinic-frame.ts";
import { hiddenTimes } from "./clinic-hidden.ts";
import { settingsOn } from "./clinic-settings.ts";
import { readForm } from "./forms.ts";
import { type KnownOn, knownOnAsked } from "./known-on.ts";
import type { AppContext, Route } from "./route.ts";
import { lineField } from "./stores-fields.ts";

/** A long gap touches many days; the first of them tell enough. */
const mostDaysShown = 7;

export const gapRoutes = (services: Services): readonly Route[] => [
  {
    method: "GET",
    path: "/clinic/gaps/:id",
    needs: "see-gap",
    handle: (context) => showGap(services, context),
  },
  {
    method: "POST",
    path: "/clinic/gaps/:id/frame",
    needs: "ask-own-persons-unit",
    handle: (context) => askForFrame(services, context),
  },
  {
    method: "POST",
    path: "/clinic/gaps/:id/tests",
    needs: "ask-for-test",
    handle: (context) => askAnotherDesk(services, context),
  },
  {
    method: "POST",
    path: "/clinic/gaps/:id/learned",
    needs: "record-what-was-learned",
    handle: (context) => saveLearned(services, context),
  },
];

const stretchOf = (services: Services, context: AppContext, known: KnownOn | null = null) =>
  stretchForClinician(
    services.db,
    clinicianOf(context),
    stretchId(context.req.param("id") ?? ""),
    known?.end ?? null,
  );

/** Nobody had seen the stretch by then: its page begins later. */
const notYet = (services: Services, context: AppContext) => {
  const id = stretchId(context.req.param("id") ?? "");
  return context.html(
    <NotYetPage frame={clinicFrame(services, context, `/clinic/gaps/${id}`)} stretch={id} />,
  );
};

interface Again {
  readonly problems: Problems;
  readonly typed: Typed;
}

function showGap(services: Services, context: AppContext, form?: Again) {
  const known = knownOnAsked(services, context);
  const stretch = stretchOf(services, context, known);
  if (!stretch) return stretchOf(services, context) ? notYet(services, context) : context.notFound();
  const history = heldBy(verdictHistory(services.db, stretch.id), known);
  const learned = learnedOf(services.db, stretch.id).filter(
    ({ writtenAt }) => known === null || writtenAt < known.end,
  );
  return context.html(
    <GapPage
      frame={clinicFrame(services, context, `/clinic/gaps/${stretch.id}`)}
      person={{ id: stretch.borrowerId, name: stretch.borrowerName }}
      stretch={{ id: stretch.id, kind: stretch.kind, title: titleOf(stretch) }}
      unit={stretch.unitSerial}
      verdict={stretch.verdict}
      history={history}
      bounds={boundsShown(services, stretch, known?.end ?? null)}
      learned={learned}
      requests={requestsShown(services, stretch, known)}
      incident={heldIn(services, stretch, known)}
      harm={harmTable(settingsOn(services, known))}
      grid={
        known === null ? loadFindingsOf(services.db, stretch.unitSerial).map(({ sentence }) => sentence) : []
      }
      frameAsked={known === null ? lastFrameAsked(services, stretch) : null}
      told={toldWords(context.req.query("told"))}
      {...(form ? { form } : {})}
    />,
    form ? 422 : 200,
  );
}

/** What was held up to then; what took its place later was not known of. */
const heldBy = (history: readonly HeldVerdict[], known: KnownOn | null): readonly HeldVerdict[] =>
  known === null
    ? history
    : history
        .filter(({ computedAt }) => computedAt < known.end)
        .map((held) =>
          held.supersededAt !== null && held.supersededAt >= known.end
            ? { ...held, supersededAt: null }
            : held,
        );

function titleOf({ kind, filledAt }: JudgedStretch): string {
  if (kind === "thin") return "A thin stretch in the record";
  return filledAt !== null ? "A gap since filled" : "A gap in the record";
}

function boundsShown(services: Services, stretch: JudgedStretch, knownBy: Instant | null): DayBounds[] {
  const span = { start: stretch.startsAt, end: stretch.endsAt ?? knownBy ?? services.clock.now() };
  const { loanId: id, unitSerial } = stretch;
  const loan = { id, unitSerial, startedAt: null, endedAt: null };
  const hidden = hiddenTimes(services, loan, wholeDays(services, span), knownBy);
  return ledgerOfPersonDuring(services.db, stretch.borrowerId, span, knownBy)
    .filter(({ loanId }) => loanId === stretch.loanId)
    .slice(0, mostDaysShown)
    .map((row) => {
      const counts = fairCounts(row, hidden);
      return { day: row.day, ...counts, share: boundsOf(counts) };
    });
}

const wholeDays = ({ zone }: Services, { start, end }: Span): Span => ({
  start: dayBounds(localDayOf(start, zone), zone).start,
  end: dayBounds(localDayOf(end, zone), zone).end,
});

function toldWords(told: string | undefined): string | null {
  if (told === "test") return "It stands on the other desk’s list. What it shows will stand here.";
  if (told === "learned") return "It is kept as you wrote it.";
  return told === "asked" ? "The unit is asked. Its answer shows under “What would settle it”." : null;
}

/** Only since the stretch began: an earlier picture settles nothing of it. */
const lastFrameAsked = ({ db }: Services, { unitSerial, startsAt }: JudgedStretch) =>
  commandLinesOf(db, unitSerial, 20).find(({ kind, issuedAt }) => kind === "frame" && issuedAt >= startsAt) ??
  null;

function askForFrame(services: Services, context: AppContext) {
  const stretch = stretchOf(services, context);
  if (!stretch) return context.notFound();
  const actor = { ...clinicActor(context), role: context.get("signedIn").staff.role };
  const outcome = commandUnit(services, actor, { unit: stretch.unitSerial, kind: "frame" });
  if (outcome.kind === "issued") return context.redirect(`/clinic/gaps/${stretch.id}?told=asked#settle`, 303);
  return showGap(services, context, { problems: { form: outcome.sentence }, typed: {} });
}

const requestsShown = ({ db }: Services, { id }: JudgedStretch, known: KnownOn | null) =>
  testRequestsOf(db, id)
    .map(({ request }) => request)
    .filter(({ askedAt }) => known === null || askedAt < known.end)
    .map((request) =>
      known !== null && request.doneAt !== null && request.doneAt >= known.end
        ? { ...request, doneAt: null, result: null }
        : request,
    );

const heldIn = (
  services: Services,
  { kind, loanId, startsAt, endsAt }: JudgedStretch,
  known: KnownOn | null,
): string | null =>
  kind === "gap"
    ? heldTogether(services, null, known?.end ?? null).holds({ loan: loanId, start: startsAt, end: endsAt })
    : null;

async function askAnotherDesk(services: Services, context: AppContext) {
  const stretch = stretchOf(services, context);
  if (!stretch) return context.notFound();
  const form = await readForm(context, z.object({ test: lineField(40) }));
  if (!form.ok) return showGap(services, context, form);
  const outcome = askForTest(services, clinicActor(context), { stretch: stretch.id, test: form.value.test });
  if (outcome.kind === "asked") return context.redirect(`/clinic/gaps/${stretch.id}?told=test#settle`, 303);
  return showGap(services, context, { problems: { form: outcome.sentence }, typed: {} });
}

const learnedForm = z.object({
  agrees: z.enum(["yes", "no"], "Say whether you agree."),
  side: z.enum(sides).optional(),
  cause: lineField(40).optional(),
  text: lineField(2_000),
});

async function saveLearned(services: Services, context: AppContext) {
  const stretch = stretchOf(services, context);
  if (!stretch) return context.notFound();
  const form = await readForm(context, learnedForm);
  if (!form.ok) return showGap(services, context, form);
  const { agrees, side = null, cause = null, text } = form.value;
  const outcome = await recordLearned(services, clinicActor(context), {
    stretch: stretch.id,
    agrees: agrees === "yes",
    side,
    cause,
    text,
  });
  if (outcome.kind === "recorded") return context.redirect(`/clinic/gaps/${stretch.id}?told=learned`, 303);
  return showGap(services, context, { problems: { form: outcome.sentence }, typed: { text } });
}
