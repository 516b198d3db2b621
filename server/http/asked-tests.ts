import { z } from "zod";
import type { AskedTest } from "../../views/layout/asked-tests.tsx";
import { testRequestId } from "../domain/ids.ts";
import { candidateTest, resultsOf } from "../domain/learning/test-results.ts";
import { recordTestResult } from "../programme/ask-for-test.ts";
import type { Services } from "../services.ts";
import { openTestRequests } from "../store/test-requests.ts";
import { readForm } from "./forms.ts";
import type { AppContext, Route } from "./route.ts";
import { lineField } from "./stores-fields.ts";

type Desk = "stores" | "bench";

/** The bench sees the unit and no name. */
export const askedTests = ({ db }: Services, desk: Desk): AskedTest[] =>
  openTestRequests(db, desk).map((asked) => ({
    id: asked.id,
    about: desk === "bench" ? asked.unitSerial : `${asked.borrowerName}, ${asked.reference}`,
    href: desk === "bench" ? `/bench/units/${asked.unitSerial}` : `/stores/loans/${asked.loanId}`,
    sentence: candidateTest(asked.kind, asked.test)?.sentence ?? asked.test,
    askedAt: asked.askedAt,
    stretchFrom: asked.startsAt,
    results: resultsOf(asked.kind, asked.test),
  }));

export const askedTestRoutes = (services: Services): readonly Route[] => [
  {
    method: "POST",
    path: "/bench/tests/:id",
    needs: "record-bench-test",
    handle: (context) => answer(services, context, "bench"),
  },
  {
    method: "POST",
    path: "/stores/tests/:id",
    needs: "record-visit-test",
    handle: (context) => answer(services, context, "stores"),
  },
];

/** Back to the list whatever came of it: a result that somebody else gave meanwhile has left it. */
async function answer(services: Services, context: AppContext, desk: Desk) {
  const form = await readForm(context, z.object({ result: lineField(60) }));
  if (!form.ok) return context.redirect(`/${desk}`, 303);
  const actor = { kind: "staff", id: context.get("signedIn").staff.id } as const;
  const id = testRequestId(context.req.param("id") ?? "");
  await recordTestResult(services, actor, { id, desk, result: form.value.result });
  return context.redirect(`/${desk}`, 303);
}
