import { z } from "zod";
import { LoansPage } from "../../views/stores/loans-page.tsx";
import type { Services } from "../services.ts";
import { countLoansMatching, loansMatching } from "../store/loans.ts";
import { readQuery } from "./forms.ts";
import type { AppContext, Route } from "./route.ts";
import { pageField } from "./stores-fields.ts";
import { storesFrame } from "./stores-frame.ts";

const loansPerPage = 50;

const loanQuery = z.object({
  state: z.enum(["open", "ended", "all"]).catch("open").default("open"),
  text: z.string().max(100).catch("").default(""),
  page: pageField,
});

export const loanListRoute = (services: Services): Route => ({
  method: "GET",
  path: "/stores/loans",
  needs: "see-loans",
  handle: (context) => showLoans(services, context),
});

function showLoans(services: Services, context: AppContext) {
  const read = readQuery(context, loanQuery);
  const { state, text, page } = read.ok ? read.value : { state: "open" as const, text: "", page: 1 };
  const search = { state, text, limit: loansPerPage, offset: (page - 1) * loansPerPage };
  return context.html(
    <LoansPage
      frame={storesFrame(services, context, "/stores/loans")}
      loans={loansMatching(services.db, search)}
      total={countLoansMatching(services.db, search)}
      page={page}
      perPage={loansPerPage}
      query={{ state, text }}
    />,
  );
}
