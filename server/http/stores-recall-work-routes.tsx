import { z } from "zod";
import type { Problems, Typed } from "../../views/layout/forms.tsx";
import { RecallPage } from "../../views/stores/recall-page.tsx";
import { recallId, unitSerial } from "../domain/ids.ts";
import { balanceRecall, reasonNotToClose, recallOutcomes } from "../domain/lifecycle/recall-balance.ts";
import { closeRecall } from "../programme/recall-close.ts";
import { listMoreUnits } from "../programme/recall-list-more.ts";
import { recordRecallOutcome } from "../programme/recall-outcome.ts";
import { signOffRecallUnit } from "../programme/recall-sign-off.ts";
import type { Services } from "../services.ts";
import { staffNamed } from "../store/desk-staff.ts";
import { loansOfRecall, recallById, unitsMatchingUnlisted, unitsOfRecall } from "../store/recalls.ts";
import { readForm } from "./forms.ts";
import type { AppContext, Route } from "./route.ts";
import { actorOf, storesFrame } from "./stores-frame.ts";

const outcomeForm = z.object({
  unit: z.string().transform(unitSerial),
  outcome: z.enum(recallOutcomes),
  evidence: z.string().trim().max(500).default(""),
});
const signOffForm = z.object({ unit: z.string().transform(unitSerial), outcome: z.enum(recallOutcomes) });

export const recallWorkRoutes = (services: Services): readonly Route[] => [
  {
    method: "GET",
    path: "/stores/recalls/:id",
    needs: "open-recall",
    handle: (context) => showRecall(services, context),
  },
  {
    method: "POST",
    path: "/stores/recalls/:id/outcome",
    needs: "record-recall-outcome",
    handle: (context) => record(services, context),
  },
  {
    method: "POST",
    path: "/stores/recalls/:id/sign-off",
    needs: "record-recall-outcome",
    handle: (context) => signOff(services, context),
  },
  {
    method: "POST",
    path: "/stores/recalls/:id/list-more",
    needs: "record-recall-outcome",
    handle: (context) => answer(services, context, listMoreUnits(services, actorOf(context), idOf(context))),
  },
  {
    method: "POST",
    path: "/stores/recalls/:id/close",
    needs: "close-recall",
    handle: (context) => answer(services, context, closeRecall(services, actorOf(context), idOf(context))),
  },
];

const idOf = (context: AppContext) => recallId(context.req.param("id") ?? "");

interface Again {
  readonly problems: Problems;
  readonly unit?: { readonly serial: string; readonly typed: Typed };
}

function showRecall(services: Services, context: AppContext, again?: Again) {
  const { db } = services;
  const recall = recallById(db, idOf(context));
  if (recall === null) return context.notFound();
  const units = unitsOfRecall(db, recall.id);
  const unlisted = recall.closedAt === null ? unitsMatchingUnlisted(db, recall.id) : [];
  const balance = balanceRecall(
    units.map((unit) => ({ outcome: unit.outcome, signedOff: unit.signedOffBy !== null })),
  );
  return context.html(
    <RecallPage
      frame={storesFrame(services, context, "/stores/recalls")}
      recall={recall}
      openedBy={staffNamed(db, recall.openedBy)?.name ?? "someone"}
      closedBy={recall.closedBy === null ? null : (staffNamed(db, recall.closedBy)?.name ?? null)}
      units={units}
      loans={loansOfRecall(db, recall.id)}
      balance={balance}
      unlisted={unlisted}
      cannotClose={reasonNotToClose(balance, unlisted.length)?.sentence ?? null}
      problems={again?.problems}
      again={again?.unit}
    />,
    again === undefined ? 200 : 409,
  );
}

/** After a press that succeeded the page says how things stand; after one that didn't, the rule that refused. */
function answer(
  services: Services,
  context: AppContext,
  outcome: { readonly kind: "refused"; readonly sentence: string } | { readonly kind: "listed" | "closed" },
) {
  if (outcome.kind === "refused")
    return showRecall(services, context, { problems: { form: outcome.sentence } });
  return context.redirect(`/stores/recalls/${idOf(context)}`, 303);
}

async function record(services: Services, context: AppContext) {
  const form = await readForm(context, outcomeForm);
  if (!form.ok) return showRecall(services, context, { problems: form.problems });
  const { unit, ...given } = form.value;
  const recall = idOf(context);
  const outcome = recordRecallOutcome(services, actorOf(context), { recall, unit, ...given });
  if (outcome.kind === "recorded") return context.redirect(`/stores/recalls/${recall}#unit-${unit}`, 303);
  return showRecall(services, context, {
    problems: { form: `${unit}: ${outcome.sentence}` },
    unit: { serial: unit, typed: given },
  });
}

async function signOff(services: Services, context: AppContext) {
  const form = await readForm(context, signOffForm);
  if (!form.ok) return showRecall(services, context, { problems: form.problems });
  const recall = idOf(context);
  const outcome = signOffRecallUnit(services, actorOf(context), { recall, ...form.value });
  if (outcome.kind === "signed-off")
    return context.redirect(`/stores/recalls/${recall}#unit-${form.value.unit}`, 303);
  return showRecall(services, context, { problems: { form: outcome.sentence } });
}
