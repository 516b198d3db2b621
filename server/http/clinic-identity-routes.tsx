import { z } from "zod";
import { IdentityPage } from "../../views/clinic/identity-page.tsx";
import type { Problems, Typed } from "../../views/layout/forms.tsx";
import { layIn, lays } from "../domain/identity-trouble/lay.ts";
import { identityQuestionId } from "../domain/ids.ts";
import { localTimeOf, type ZoneName } from "../domain/time/local-day.ts";
import type { Instant } from "../domain/units.ts";
import { answerIdentity, undoIdentity } from "../programme/answer-identity.ts";
import { closePrivacyIncident } from "../programme/privacy-incident.ts";
import type { Services } from "../services.ts";
import { borrowerOfClinician } from "../store/clinic-people.ts";
import {
  exchangedBetween,
  type IdentityQuestionInFull,
  identityQuestionFor,
  offered,
  reattributionsOf,
} from "../store/identity.ts";
import { loanById } from "../store/loans.ts";
import { privacyIncidentOf } from "../store/privacy-incidents.ts";
import { findingsDuring } from "../store/stretch-clues.ts";
import { clinicActor, clinicFrame, clinicianOf } from "./clinic-frame.ts";
import { readForm } from "./forms.ts";
import type { AppContext, Route } from "./route.ts";
import { lineField, momentField } from "./stores-fields.ts";

/** Whose record it is: asked by the console, answered by the clinician. */
export const identityRoutes = (services: Services): readonly Route[] => [
  {
    method: "GET",
    path: "/clinic/identity/:id",
    needs: "see-own-people",
    handle: (context) => {
      const asked = askedOf(services, context);
      return asked ? show(services, context, asked) : context.notFound();
    },
  },
  {
    method: "POST",
    path: "/clinic/identity/:id",
    needs: "answer-whose-record",
    handle: (context) => answer(services, context),
  },
  {
    method: "POST",
    path: "/clinic/identity/:id/undo",
    needs: "answer-whose-record",
    handle: (context) => undo(services, context),
  },
  {
    method: "POST",
    path: "/clinic/identity/:id/privacy",
    needs: "answer-whose-record",
    handle: (context) => closePrivacy(services, context),
  },
];

const askedOf = (services: Services, context: AppContext) =>
  identityQuestionFor(services.db, clinicianOf(context), identityQuestionId(context.req.param("id") ?? ""));

function show(
  services: Services,
  context: AppContext,
  asked: IdentityQuestionInFull,
  form?: { readonly typed: Typed; readonly problems: Problems },
) {
  const { question } = asked;
  const { startsAt, endsAt } = question;
  const now = services.clock.now();
  const until = question.kind === "turned" ? putRightAt(services, asked) : endsAt;
  const proposed: Typed = {
    record:
      question.kind === "turned"
        ? (layIn(question.evidence) ?? "keep")
        : question.otherLoanId === null
          ? "nobody"
          : "other",
    from: asInput(startsAt, services.zone),
    until: asInput(until ?? now, services.zone),
  };
  return context.html(
    <IdentityPage
      frame={clinicFrame(services, context, `/clinic/identity/${question.id}`)}
      person={{ id: asked.borrowerId, name: asked.borrowerName }}
      unit={asked.unitSerial}
      question={{ ...question, start: startsAt, end: endsAt }}
      other={otherOf(services, context, question)}
      privacy={privacyIncidentOf(services.db, question.id)}
      moved={filedBy(services, question).map((one) => ({
        unit: one.unitSerial,
        to:
          one.toLoanId === null
            ? one.offeredTo === null
              ? "nobody"
              : "nobody, save what a colleague has confirmed too"
            : `loan ${loanById(services.db, one.toLoanId)?.reference ?? one.toLoanId}`,
        lay: one.lay,
        start: one.startsAt,
        end: one.endsAt,
        doneAt: one.doneAt,
        undoneAt: one.undoneAt,
      }))}
      told={toldWords[context.req.query("told") ?? ""] ?? null}
      typed={form?.typed ?? proposed}
      {...(form ? { problems: form.problems } : {})}
    />,
    form ? 422 : 200,
  );
}

/** When the signs of its lying turned had gone. null: they have not. */
const putRightAt = ({ db }: Services, { question, unitSerial }: IdentityQuestionInFull): Instant | null =>
  findingsDuring(db, unitSerial, { start: question.startsAt, end: question.startsAt }).find(
    ({ kind }) => kind === "insert-turned",
  )?.clearedAt ?? null;

/** By this answer, and by a colleague's that completed it. */
const filedBy = ({ db }: Services, { id, loanId, otherLoanId }: IdentityQuestionInFull["question"]) => {
  const own = reattributionsOf(db, id);
  const between = otherLoanId === null ? [] : exchangedBetween(db, loanId, otherLoanId);
  return [...own, ...between.filter(({ questionId }) => questionId !== id)];
};

/** Whose the other loan is: this clinician's person's, or a colleague's. null: it isn't known. */
function otherOf(
  { db }: Services,
  context: AppContext,
  { loanId, otherLoanId }: IdentityQuestionInFull["question"],
): "own" | "colleague" | "agreed" | null {
  const other = otherLoanId === null ? null : loanById(db, otherLoanId);
  if (!other) return null;
  if (borrowerOfClinician(db, clinicianOf(context), other.borrowerId)) return "own";
  return offered(db, other.id, loanId).length > 0 ? "agreed" : "colleague";
}

const toldWords: Readonly<Record<string, string>> = {
  answered:
    "It is kept. Where a record was filed elsewhere, days and verdicts are being worked through again.",
  privacy: "It is closed, with who was told.",
  undone: "It is filed as it was; days and verdicts are being worked through again.",
};

/** As `<input type="datetime-local">` wants it. */
function asInput(at: Instant, zone: ZoneName): string {
  const { day, hour, minute } = localTimeOf(at, zone);
  return `${day}T${String(hour).padStart(2, "0")}:${String(minute).padStart(2, "0")}`;
}

const answerForm = (zone: ZoneName) =>
  z.object({
    answer: z.enum(["confirmed", "rejected"], "Say whether it is so."),
    reason: lineField(1_000),
    record: z.enum(["keep", "nobody", "other", ...lays]),
    from: momentField(zone),
    until: momentField(zone),
  });

const problemField: Readonly<Record<string, string>> = {
  "span-outside-loan": "from",
  "needs-a-reason": "reason",
  "no-other-loan": "record",
  "filed-already": "from",
};

async function answer(services: Services, context: AppContext) {
  const asked = askedOf(services, context);
  if (!asked) return context.notFound();
  const form = await readForm(context, answerForm(services.zone));
  if (!form.ok) return show(services, context, asked, form);
  const { from, until, ...rest } = form.value;
  const outcome = answerIdentity(services, clinicActor(context), {
    question: asked.question.id,
    ...rest,
    from,
    until,
  });
  if (outcome.kind === "answered")
    return context.redirect(`/clinic/identity/${asked.question.id}?told=answered`, 303);
  const typed = { ...rest, from: asInput(from, services.zone), until: asInput(until, services.zone) };
  const problems = { [problemField[outcome.rule] ?? "form"]: outcome.sentence };
  return show(services, context, asked, { typed, problems });
}

function undo(services: Services, context: AppContext) {
  const asked = askedOf(services, context);
  if (!asked) return context.notFound();
  undoIdentity(services, clinicActor(context), asked.question.id);
  return context.redirect(`/clinic/identity/${asked.question.id}?told=undone`, 303);
}

async function closePrivacy(services: Services, context: AppContext) {
  const asked = askedOf(services, context);
  if (!asked) return context.notFound();
  const form = await readForm(context, z.object({ outcome: lineField(1_000) }));
  if (!form.ok) return show(services, context, asked, form);
  const question = asked.question.id;
  const outcome = closePrivacyIncident(services, clinicActor(context), { question, ...form.value });
  if (outcome.kind === "closed") return context.redirect(`/clinic/identity/${question}?told=privacy`, 303);
  return show(services, context, asked, { typed: form.value, problems: { form: outcome.sentence } });
}
