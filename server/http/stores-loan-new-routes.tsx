import { z } from "zod";
import type { Problems, Typed } from "../../views/layout/forms.tsx";
import { LoanNewPage } from "../../views/stores/loan-new-page.tsx";
import { borrowerId, unitSerial } from "../domain/ids.ts";
import { matchUnits } from "../domain/lifecycle/suitability.ts";
import { unitsToIssue } from "../programme/candidate-units.ts";
import { openLoan } from "../programme/open-loan.ts";
import type { Services } from "../services.ts";
import { borrowerById, borrowersWithoutOpenLoan, hasReliefPlan } from "../store/borrowers.ts";
import { readForm } from "./forms.ts";
import type { AppContext, Route } from "./route.ts";
import { dayField } from "./stores-fields.ts";
import { actorOf, storesFrame } from "./stores-frame.ts";

const openLoanForm = z.object({
  borrower: z.string().transform(borrowerId),
  unit: z.string("Choose a unit.").transform(unitSerial),
  dueBackOn: dayField.optional(),
});

export const loanNewRoutes = (services: Services): readonly Route[] => [
  {
    method: "GET",
    path: "/stores/loans/new",
    needs: "open-loan",
    handle: (context) => showForm(services, context, context.req.query("borrower") ?? ""),
  },
  {
    method: "POST",
    path: "/stores/loans/new",
    needs: "open-loan",
    handle: (context) => open(services, context),
  },
];

interface Again {
  readonly problems: Problems;
  readonly typed: Typed;
  readonly status: 422 | 409;
}

function showForm(services: Services, context: AppContext, borrowerText: string, again?: Again) {
  const borrower = borrowerById(services.db, borrowerId(borrowerText));
  return context.html(
    <LoanNewPage
      frame={storesFrame(services, context, "/stores/loans")}
      borrowers={borrowersWithoutOpenLoan(services.db)}
      borrower={borrower}
      hasPlan={borrower !== null && hasReliefPlan(services.db, borrower.id)}
      matches={borrower === null ? [] : matchUnits(unitsToIssue(services.db), borrower)}
      {...(again ? { problems: again.problems, typed: again.typed } : {})}
    />,
    again?.status ?? 200,
  );
}

async function open(services: Services, context: AppContext) {
  const form = await readForm(context, openLoanForm);
  if (!form.ok) {
    const chosen = form.typed.borrower;
    const { problems, typed } = form;
    return showForm(services, context, typeof chosen === "string" ? chosen : "", {
      problems,
      typed,
      status: 422,
    });
  }
  const { borrower, unit, dueBackOn } = form.value;
  const outcome = openLoan(services, actorOf(context), { borrower, unit, dueBackOn: dueBackOn ?? null });
  if (outcome.kind === "opened") return context.redirect(`/stores/loans/${outcome.loan}?told=opened`, 303);
  const nearest = outcome.nearest === null ? "" : ` The nearest that suits is ${outcome.nearest}.`;
  const typed: Typed = { borrower, unit, dueBackOn: dueBackOn ?? "" };
  return showForm(services, context, borrower, {
    problems: { form: `${unit} was not lent. ${outcome.sentence}${nearest}` },
    typed,
    status: 409,
  });
}
