import { z } from "zod";
import type { Problems, Typed } from "../../views/layout/forms.tsx";
import { BorrowerPage } from "../../views/stores/borrower-page.tsx";
import { BorrowersPage } from "../../views/stores/borrowers-page.tsx";
import { borrowerId, staffId } from "../domain/ids.ts";
import { kilograms, millimetres } from "../domain/units.ts";
import { addBorrower } from "../programme/add-borrower.ts";
import { changeBorrower } from "../programme/change-borrower.ts";
import type { Services } from "../services.ts";
import {
  type BorrowerWithClinician,
  borrowerById,
  borrowersMatching,
  countBorrowersMatching,
  hasReliefPlan,
} from "../store/borrowers.ts";
import { staffWorkingAs } from "../store/desk-staff.ts";
import { loansOfBorrower } from "../store/loans.ts";
import { readForm, readQuery } from "./forms.ts";
import type { AppContext, Route } from "./route.ts";
import { centimetreField, lineField, pageField, wholeField } from "./stores-fields.ts";
import { actorOf, storesFrame } from "./stores-frame.ts";

const borrowersPerPage = 50;

/** Bounds catch slips of the finger, not unusual people. */
const borrowerForm = z.object({
  name: lineField(100),
  area: lineField(60),
  address: lineField(200),
  phone: lineField(40),
  seatWidth: centimetreField(20, 80).transform(millimetres),
  seatDepth: centimetreField(20, 80).transform(millimetres),
  weight: wholeField(10, 400).transform(kilograms),
  clinicianId: z.string().transform(staffId),
});

const told: Readonly<Record<string, string>> = { added: "Added.", saved: "The changes are saved." };

export const borrowerRoutes = (services: Services): readonly Route[] => [
  {
    method: "GET",
    path: "/stores/borrowers",
    needs: "see-borrower-contact",
    handle: (context) => showBorrowers(services, context),
  },
  {
    method: "GET",
    path: "/stores/borrowers/new",
    needs: "add-borrower",
    handle: (context) => showBorrower(services, context, null, { typed: {} }),
  },
  {
    method: "POST",
    path: "/stores/borrowers/new",
    needs: "add-borrower",
    handle: (context) => add(services, context),
  },
  {
    method: "GET",
    path: "/stores/borrowers/:id",
    needs: "see-borrower-contact",
    handle: (context) => {
      const borrower = borrowerOf(services, context);
      return borrower === null
        ? context.notFound()
        : showBorrower(services, context, borrower, { typed: asTyped(borrower) });
    },
  },
  {
    method: "POST",
    path: "/stores/borrowers/:id",
    needs: "add-borrower",
    handle: (context) => change(services, context),
  },
];

const borrowerOf = (services: Services, context: AppContext): BorrowerWithClinician | null =>
  borrowerById(services.db, borrowerId(context.req.param("id") ?? ""));

function showBorrowers(services: Services, context: AppContext) {
  const query = readQuery(
    context,
    z.object({ text: z.string().max(100).catch("").default(""), page: pageField }),
  );
  const { text, page } = query.ok ? query.value : { text: "", page: 1 };
  const search = { text, limit: borrowersPerPage, offset: (page - 1) * borrowersPerPage };
  return context.html(
    <BorrowersPage
      frame={storesFrame(services, context, "/stores/borrowers")}
      borrowers={borrowersMatching(services.db, search)}
      total={countBorrowersMatching(services.db, search)}
      page={page}
      perPage={borrowersPerPage}
      text={text}
    />,
  );
}

function showBorrower(
  services: Services,
  context: AppContext,
  borrower: BorrowerWithClinician | null,
  form: { readonly typed: Typed; readonly problems?: Problems },
) {
  return context.html(
    <BorrowerPage
      frame={storesFrame(services, context, "/stores/borrowers")}
      borrower={borrower}
      clinicians={staffWorkingAs(services.db, ["clinician"])}
      hasPlan={borrower !== null && hasReliefPlan(services.db, borrower.id)}
      loans={borrower === null ? [] : loansOfBorrower(services.db, borrower.id)}
      typed={form.typed}
      problems={form.problems}
      told={told[context.req.query("told") ?? ""]}
    />,
    form.problems === undefined ? 200 : 422,
  );
}

async function add(services: Services, context: AppContext) {
  const form = await readForm(context, borrowerForm);
  if (!form.ok) return showBorrower(services, context, null, form);
  const outcome = addBorrower(services, actorOf(context), form.value);
  if (outcome.kind === "added")
    return context.redirect(`/stores/borrowers/${outcome.borrower}?told=added`, 303);
  const problems = { clinicianId: outcome.sentence };
  return showBorrower(services, context, null, { typed: asTyped(form.value), problems });
}

async function change(services: Services, context: AppContext) {
  const borrower = borrowerOf(services, context);
  if (borrower === null) return context.notFound();
  const form = await readForm(context, borrowerForm);
  if (!form.ok) return showBorrower(services, context, borrower, form);
  const outcome = changeBorrower(services, actorOf(context), borrower.id, form.value);
  if (outcome.kind === "changed") return context.redirect(`/stores/borrowers/${borrower.id}?told=saved`, 303);
  const problems = { [outcome.rule === "not-a-clinician" ? "clinicianId" : "form"]: outcome.sentence };
  return showBorrower(services, context, borrower, { typed: asTyped(form.value), problems });
}

/** The record as the form writes it: centimetres, and everything as text. */
const asTyped = (borrower: z.output<typeof borrowerForm>): Typed => ({
  name: borrower.name,
  area: borrower.area,
  address: borrower.address,
  phone: borrower.phone,
  seatWidth: String(borrower.seatWidth / 10),
  seatDepth: String(borrower.seatDepth / 10),
  weight: String(borrower.weight),
  clinicianId: borrower.clinicianId,
});
