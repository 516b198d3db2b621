import { z } from "zod";
import type { Problems, Typed } from "../../views/layout/forms.tsx";
import { LoanEndPage } from "../../views/stores/loan-end-page.tsx";
import { loanNoteKinds } from "../domain/lifecycle/loan-note.ts";
import { placesAfterLoan } from "../domain/lifecycle/moves.ts";
import { endLoan } from "../programme/end-loan.ts";
import { noteOnLoan } from "../programme/note-on-loan.ts";
import type { Services } from "../services.ts";
import type { LoanInFull } from "../store/loans.ts";
import { readForm } from "./forms.ts";
import type { AppContext, Route } from "./route.ts";
import { lineField, momentField } from "./stores-fields.ts";
import { actorOf, storesFrame } from "./stores-frame.ts";
import { loanOf, showLoan } from "./stores-loan-page.tsx";

const endLoanForm = z.object({
  reason: lineField(200),
  unitTo: z.enum(placesAfterLoan, "Say where the unit is."),
  surface: z.enum(
    ["equivalent-in-place", "not-needed"],
    "Say what the person sits on from now on before the cushion goes.",
  ),
});

const noteForm = (services: Services) =>
  z
    .object({
      kind: z.enum(loanNoteKinds),
      from: momentField(services.zone).optional(),
      until: momentField(services.zone).optional(),
      text: lineField(1_000),
    })
    .refine(({ from, until }) => until === undefined || until > (from ?? services.clock.now()), {
      path: ["until"],
      message: "The end has to come after the beginning.",
    });

export const loanRoutes = (services: Services): readonly Route[] => [
  {
    method: "GET",
    path: "/stores/loans/:id",
    needs: "see-loans",
    handle: (context) => showLoan(services, context),
  },
  {
    method: "POST",
    path: "/stores/loans/:id/notes",
    // A form that comes back shows the whole loan, contact data included: a clinician writes on the Clinic's own page.
    needs: "see-loans",
    handle: (context) => saveNote(services, context),
  },
  {
    method: "GET",
    path: "/stores/loans/:id/end",
    needs: "end-loan",
    handle: (context) => {
      const loan = loanOf(services, context);
      return loan === null ? context.notFound() : showEnd(services, context, loan);
    },
  },
  {
    method: "POST",
    path: "/stores/loans/:id/end",
    needs: "end-loan",
    handle: (context) => end(services, context),
  },
];

function showEnd(
  services: Services,
  context: AppContext,
  loan: LoanInFull,
  again?: { readonly problems: Problems; readonly typed: Typed },
) {
  return context.html(
    <LoanEndPage frame={storesFrame(services, context, "/stores/loans")} loan={loan} {...again} />,
    again === undefined ? 200 : 422,
  );
}

async function end(services: Services, context: AppContext) {
  const loan = loanOf(services, context);
  if (loan === null) return context.notFound();
  const form = await readForm(context, endLoanForm);
  // A second press, or a colleague's: what is already so is said first, whatever else the form lacks.
  if (!form.ok && loan.endedAt === null) return showEnd(services, context, loan, form);
  const request = form.ok
    ? form.value
    : { reason: "", unitTo: "coming-back" as const, surface: "not-needed" as const };
  const outcome = endLoan(services, actorOf(context), { loan: loan.id, ...request });
  if (outcome.kind === "ended") return context.redirect(`/stores/loans/${loan.id}?told=ended`, 303);
  return showLoan(services, context, { problems: { form: outcome.sentence }, typed: {}, status: 409 });
}

async function saveNote(services: Services, context: AppContext) {
  const loan = loanOf(services, context);
  if (loan === null) return context.notFound();
  const form = await readForm(context, noteForm(services));
  if (!form.ok) return showLoan(services, context, { ...form, status: 422 });
  const { kind, from, until, text } = form.value;
  const outcome = await noteOnLoan(services, actorOf(context), {
    loan: loan.id,
    kind,
    from: from ?? services.clock.now(),
    until: until ?? null,
    text,
  });
  if (outcome.kind === "noted") return context.redirect(`/stores/loans/${loan.id}?told=noted`, 303);
  return showLoan(services, context, { problems: { form: outcome.sentence }, typed: {}, status: 409 });
}
