import { z } from "zod";
import type { Problems, Typed } from "../../views/layout/forms.tsx";
import { VisitPlanPage } from "../../views/stores/visit-plan-page.tsx";
import { staffId, unitSerial } from "../domain/ids.ts";
import { matchUnits } from "../domain/lifecycle/suitability.ts";
import { localDayOf } from "../domain/time/local-day.ts";
import { unitsToIssue } from "../programme/candidate-units.ts";
import { type PlanVisitRequest, planVisit } from "../programme/visit-plan.ts";
import type { Services } from "../services.ts";
import { borrowerById } from "../store/borrowers.ts";
import { staffWorkingAs } from "../store/desk-staff.ts";
import type { LoanInFull } from "../store/loans.ts";
import { readForm } from "./forms.ts";
import type { AppContext, Route } from "./route.ts";
import { dayField, lineField } from "./stores-fields.ts";
import { actorOf, storesFrame } from "./stores-frame.ts";
import { loanOf, showLoan } from "./stores-loan-page.tsx";

const common = { day: dayField, doneBy: z.string().transform(staffId), reason: lineField(200) };
const swapForm = z.object({
  ...common,
  replacement: z
    .string("Choose a unit.")
    .transform((serial) => ({ kind: "swap", replacement: unitSerial(serial) }) as const),
});
const collectionForm = z.object(common);

type Kind = "swap" | "collection";

export const visitPlanRoutes = (services: Services): readonly Route[] =>
  (["swap", "collection"] as const).flatMap((kind): Route[] => [
    {
      method: "GET",
      path: `/stores/loans/:id/${kind}`,
      needs: "plan-visit",
      handle: (context) => {
        const loan = loanOf(services, context);
        return loan === null ? context.notFound() : showForm(services, context, loan, kind);
      },
    },
    {
      method: "POST",
      path: `/stores/loans/:id/${kind}`,
      needs: "plan-visit",
      handle: (context) => plan(services, context, kind),
    },
  ]);

function showForm(
  services: Services,
  context: AppContext,
  loan: LoanInFull,
  kind: Kind,
  again?: { readonly problems: Problems; readonly typed: Typed },
) {
  const borrower = borrowerById(services.db, loan.borrowerId);
  return context.html(
    <VisitPlanPage
      frame={storesFrame(services, context, "/stores/visits")}
      loan={loan}
      kind={kind}
      today={localDayOf(services.clock.now(), services.zone)}
      people={staffWorkingAs(services.db, ["coordinator", "technician"])}
      matches={kind === "swap" && borrower !== null ? matchUnits(unitsToIssue(services.db), borrower) : []}
      {...again}
    />,
    again === undefined ? 200 : 422,
  );
}

async function plan(services: Services, context: AppContext, kind: Kind) {
  const loan = loanOf(services, context);
  if (loan === null) return context.notFound();
  const form = await readVisit(context, kind);
  if (!form.ok) return showForm(services, context, loan, kind, form);
  const outcome = planVisit(services, actorOf(context), { loan: loan.id, ...form.value });
  if (outcome.kind === "planned") return context.redirect(`/stores/loans/${loan.id}?told=planned`, 303);
  if (outcome.rule === "already-planned" || outcome.rule === "loan-ended")
    return showLoan(services, context, { problems: { form: outcome.sentence }, typed: {}, status: 409 });
  const field =
    outcome.rule === "day-has-passed" ? "day" : outcome.rule === "nobody-to-do-it" ? "doneBy" : "form";
  const { task, ...typed } = form.value;
  const replacement = task.kind === "swap" ? task.replacement : "";
  return showForm(services, context, loan, kind, {
    problems: { [field]: outcome.sentence },
    typed: { ...typed, replacement },
  });
}

type VisitForm =
  | { readonly ok: true; readonly value: Omit<PlanVisitRequest, "loan"> }
  | { readonly ok: false; readonly problems: Problems; readonly typed: Typed };

async function readVisit(context: AppContext, kind: Kind): Promise<VisitForm> {
  if (kind === "collection") {
    const form = await readForm(context, collectionForm);
    return form.ok ? { ok: true, value: { ...form.value, task: { kind: "collection" } } } : form;
  }
  const form = await readForm(context, swapForm);
  if (!form.ok) return form;
  const { replacement, ...rest } = form.value;
  return { ok: true, value: { ...rest, task: replacement } };
}
