import { z } from "zod";
import type { Problems, Typed } from "../../views/layout/forms.tsx";
import { RecallNewPage } from "../../views/stores/recall-new-page.tsx";
import { RecallsPage } from "../../views/stores/recalls-page.tsx";
import { openRecall } from "../programme/recall-open.ts";
import type { Services } from "../services.ts";
import { allLots } from "../store/lots.ts";
import { allRecalls } from "../store/recalls.ts";
import { firmwaresReported } from "../store/units.ts";
import { readForm } from "./forms.ts";
import type { AppContext, Route } from "./route.ts";
import { lineField } from "./stores-fields.ts";
import { actorOf, storesFrame } from "./stores-frame.ts";

const recallForm = z.object({
  title: lineField(120),
  advice: lineField(600),
  criterion: z.enum(["lot", "firmware"], "Say whether it takes back a lot or a firmware."),
  value: lineField(60),
});

export const recallRoutes = (services: Services): readonly Route[] => [
  {
    method: "GET",
    path: "/stores/recalls",
    needs: "open-recall",
    handle: (context) =>
      context.html(
        <RecallsPage
          frame={storesFrame(services, context, "/stores/recalls")}
          recalls={allRecalls(services.db)}
        />,
      ),
  },
  {
    method: "GET",
    path: "/stores/recalls/new",
    needs: "open-recall",
    handle: (context) => showForm(services, context),
  },
  {
    method: "POST",
    path: "/stores/recalls/new",
    needs: "open-recall",
    handle: async (context) => {
      const form = await readForm(context, recallForm);
      if (!form.ok) return showForm(services, context, form);
      const outcome = openRecall(services, actorOf(context), form.value);
      if (outcome.kind === "opened") return context.redirect(`/stores/recalls/${outcome.recall}`, 303);
      return showForm(services, context, { problems: { value: outcome.sentence }, typed: { ...form.value } });
    },
  },
];

function showForm(
  services: Services,
  context: AppContext,
  again?: { readonly problems: Problems; readonly typed: Typed },
) {
  return context.html(
    <RecallNewPage
      frame={storesFrame(services, context, "/stores/recalls")}
      lots={allLots(services.db).map((lot) => lot.id)}
      firmwares={firmwaresReported(services.db)}
      {...(again ? { problems: again.problems, typed: again.typed } : {})}
    />,
    again === undefined ? 200 : 422,
  );
}
