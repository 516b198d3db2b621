import { z } from "zod";
import { PersonPage, type PersonPageProps, type QuestionShown } from "../../views/clinic/person-page.tsx";
import type { Problems, Typed } from "../../views/layout/forms.tsx";
import { borrowerId } from "../domain/ids.ts";
import { loanNoteKinds } from "../domain/lifecycle/loan-note.ts";
import { reliefKinds } from "../domain/record/unit-record.ts";
import { minutes, seconds } from "../domain/units.ts";
import { noteOnLoan } from "../programme/note-on-loan.ts";
import { setReliefPlan } from "../programme/set-relief-plan.ts";
import { toldBySwap } from "../programme/told-by-swap.ts";
import type { Services } from "../services.ts";
import { borrowerOfClinician, type ClinicPerson, loansOfPerson } from "../store/clinic-people.ts";
import type { JudgedStretch } from "../store/clinic-stretches.ts";
import { notesOfLoan } from "../store/loan-notes.ts";
import { openLoanOfBorrower } from "../store/loans.ts";
import { plansWithSetterOf, reliefPlansOf } from "../store/relief-plans.ts";
import { adherenceShown } from "./clinic-adherence.ts";
import { besideAsked, comparisonShown, withBeside } from "./clinic-comparison.ts";
import { clinicActor, clinicFrame, clinicianOf } from "./clinic-frame.ts";
import { nothingOnLoan, recordStates } from "./clinic-people-state.ts";
import { qualityShown } from "./clinic-quality.ts";
import { rangeAsked, rangeLinks, sinceLent } from "./clinic-range.ts";
import { personDays } from "./clinic-ribbon.ts";
import { segmentsOf } from "./clinic-segments.ts";
import { settingsOn } from "./clinic-settings.ts";
import { trendShown } from "./clinic-trend.ts";
import { readForm, ticked } from "./forms.ts";
import { knownOnAsked } from "./known-on.ts";
import type { AppContext, Route } from "./route.ts";
import { dayField, lineField, momentField, wholeField } from "./stores-fields.ts";

export const personRoutes = (services: Services): readonly Route[] => [
  {
    method: "GET",
    path: "/clinic/people/:id",
    needs: "see-own-people",
    handle: (context) => showPerson(services, context),
  },
  {
    method: "POST",
    path: "/clinic/people/:id/plan",
    needs: "set-relief-plan",
    handle: (context) => savePlan(services, context),
  },
  {
    method: "POST",
    path: "/clinic/people/:id/notes",
    needs: "note-on-loan",
    handle: (context) => saveNote(services, context),
  },
];

/** null: nobody, or somebody else's; both read the same to the one who asks. */
const personOf = (services: Services, context: AppContext): ClinicPerson | null =>
  borrowerOfClinician(services.db, clinicianOf(context), borrowerId(context.req.param("id") ?? ""));

interface Again {
  readonly which: "plan" | "note";
  readonly problems: Problems;
  readonly typed: Typed;
}

const toldWords: Readonly<Record<string, string>> = {
  plan: "The new plan is set. The unit is told it the next time it is in touch.",
  note: "The note is saved, and gaps over its time were judged again with it.",
};

async function showPerson(services: Services, context: AppContext, form?: Again) {
  const person = personOf(services, context);
  if (!person) return context.notFound();
  const known = knownOnAsked(services, context);
  const by = known?.end ?? null;
  const loans = loansOfPerson(services.db, person.id, by);
  const range = rangeAsked(services, context, known);
  const shown = sinceLent(range, loans, services);
  const told = await personDays(services, person.id, loans, shown, known);
  const { days, ledger, stretches, hidden } = told;
  const states = await recordStates(services, loans, known);
  const path = `/clinic/people/${person.id}`;
  const settings = settingsOn(services, known);
  const plans = reliefPlansOf(services.db, person.id);
  const segments = segmentsOf(ledger, hidden, plans, settings);
  const asked = { person: person.id, loans, plans, settings, known };
  const beside = besideAsked(context, range);
  const links = rangeLinks(path, range);
  const open = openLoanOfBorrower(services.db, person.id);
  const notes = loans
    .flatMap(({ id }) => notesOfLoan(services.db, id))
    .filter(({ writtenAt }) => by === null || writtenAt < by);
  const props: PersonPageProps = {
    frame: clinicFrame(services, context, path),
    person,
    state: states.get(person.id) ?? nothingOnLoan,
    days,
    ...links,
    url: withBeside(context, links.url, beside),
    questions: questionsShown(stretches),
    quality: qualityShown(loans, told),
    adherence: adherenceShown(ledger, hidden, settings, stretches, notes),
    trend: trendShown(segments, (id) => loans.find((loan) => loan.id === id)?.unitSerial ?? "", settings),
    comparison: comparisonShown(services, asked, { ...range, segments }, beside),
    swap: by === null && open !== null ? await toldBySwap(services, open) : null,
    plans: plansWithSetterOf(services.db, person.id).filter(({ validFrom }) => by === null || validFrom < by),
    loans: loans
      .map(({ followsLoanId, ...loan }) => ({ ...loan, follows: followsLoanId !== null }))
      .reverse(),
    notes,
    canNote: by === null && open !== null,
    told: toldWords[context.req.query("told") ?? ""] ?? null,
    ...(form ? { form } : {}),
  };
  return context.html(<PersonPage {...props} />, form ? 422 : 200);
}

/** The latest of each kind with the same likely cause, and the others under it; newest first. */
function questionsShown(stretches: readonly JudgedStretch[]): QuestionShown[] {
  const groups = new Map<string, { id: string; sentence: string }[]>();
  for (const { id, kind, filledAt, verdict } of [...stretches].reverse()) {
    const cause = verdict?.causes[0]?.cause ?? "";
    if (cause === "ordinary") continue;
    const key = `${kind} ${filledAt === null} ${cause}`;
    const group = groups.get(key) ?? [];
    groups.set(key, [...group, { id, sentence: verdict?.sentence ?? "Not judged yet." }]);
  }
  return [...groups.values()].flatMap(([latest, ...more]) => (latest ? [{ ...latest, more }] : []));
}

const planForm = z.object({
  from: dayField,
  interval: wholeField(5, 240),
  hold: wholeField(5, 900),
  kinds: ticked(z.enum(reliefKinds)).refine(
    (kinds) => kinds.length > 0,
    "Choose at least one kind of relief.",
  ),
});

const planProblemField: Readonly<Record<string, string>> = {
  "in-the-past": "from",
  "before-the-last-version": "from",
  "no-kinds": "kinds",
};

async function savePlan(services: Services, context: AppContext) {
  const person = personOf(services, context);
  if (!person) return context.notFound();
  const form = await readForm(context, planForm);
  if (!form.ok) return showPerson(services, context, { which: "plan", ...form });
  const { from, interval, hold, kinds } = form.value;
  const outcome = setReliefPlan(services, clinicActor(context), {
    borrower: person.id,
    from,
    interval: minutes(interval),
    hold: seconds(hold),
    kinds,
  });
  if (outcome.kind === "set") return context.redirect(`/clinic/people/${person.id}?told=plan#plan`, 303);
  const typed = { from, interval: String(interval), hold: String(hold), kinds };
  const problems = { [planProblemField[outcome.rule] ?? "form"]: outcome.sentence };
  return showPerson(services, context, { which: "plan", problems, typed });
}

const noteForm = (services: Services) =>
  z
    .object({
      kind: z.enum(loanNoteKinds),
      noteFrom: momentField(services.zone),
      until: momentField(services.zone).optional(),
      text: lineField(1_000),
    })
    .refine(({ noteFrom, until }) => until === undefined || until > noteFrom, {
      path: ["until"],
      message: "The end has to come after the beginning.",
    });

async function saveNote(services: Services, context: AppContext) {
  const person = personOf(services, context);
  if (!person) return context.notFound();
  const loan = openLoanOfBorrower(services.db, person.id);
  if (!loan) return context.notFound();
  const form = await readForm(context, noteForm(services));
  if (!form.ok) return showPerson(services, context, { which: "note", ...form });
  const { kind, noteFrom: from, until = null, text } = form.value;
  const outcome = await noteOnLoan(services, clinicActor(context), {
    loan: loan.id,
    kind,
    from,
    until,
    text,
  });
  if (outcome.kind === "refused") {
    const typed = { kind, text };
    return showPerson(services, context, { which: "note", problems: { form: outcome.sentence }, typed });
  }
  return context.redirect(`/clinic/people/${person.id}?told=note#notes`, 303);
}
