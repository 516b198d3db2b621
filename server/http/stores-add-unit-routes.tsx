import { z } from "zod";
import type { Problems, Typed } from "../../views/layout/forms.tsx";
import { ModelNewPage } from "../../views/stores/model-new-page.tsx";
import { UnitNewPage } from "../../views/stores/unit-new-page.tsx";
import { modelId } from "../domain/ids.ts";
import { kilograms, milliampHours, millimetres } from "../domain/units.ts";
import { addModel } from "../programme/add-model.ts";
import { type AddUnitRule, addUnit } from "../programme/add-unit.ts";
import type { Services } from "../services.ts";
import { allLots } from "../store/lots.ts";
import { allModels } from "../store/models.ts";
import { readForm } from "./forms.ts";
import type { AppContext, Route } from "./route.ts";
import { centimetreField, lineField, wholeField } from "./stores-fields.ts";
import { actorOf, storesFrame } from "./stores-frame.ts";

const unitForm = z.object({
  serial: lineField(32).transform((text) => text.toUpperCase()),
  model: z.string().transform(modelId),
  lot: lineField(32),
  place: z.enum(["in-stock", "on-the-bench"], "Say where it goes."),
});

const modelForm = z.object({
  id: lineField(32).regex(/^[a-z0-9-]+$/, "Use small letters, digits and hyphens."),
  name: lineField(60),
  size: lineField(30),
  width: centimetreField(20, 80).transform(millimetres),
  depth: centimetreField(20, 80).transform(millimetres),
  weightLimit: wholeField(20, 500).transform(kilograms),
  rows: wholeField(2, 64),
  columns: wholeField(2, 64),
  pitch: wholeField(5, 100).transform(millimetres),
  ratedCapacity: wholeField(100, 50_000).transform(milliampHours),
});

const fieldOf: Readonly<Record<AddUnitRule, string>> = {
  "serial-not-readable": "serial",
  "serial-exists": "serial",
  "unknown-model": "model",
  "lot-of-another-model": "lot",
};

interface Again {
  readonly problems: Problems;
  readonly typed: Typed;
}

export const addUnitRoutes = (services: Services): readonly Route[] => [
  {
    method: "GET",
    path: "/stores/units/new",
    needs: "add-unit",
    handle: (context) => showUnitForm(services, context),
  },
  {
    method: "POST",
    path: "/stores/units/new",
    needs: "add-unit",
    handle: async (context) => {
      const form = await readForm(context, unitForm);
      if (!form.ok) return showUnitForm(services, context, form);
      const outcome = addUnit(services, actorOf(context), form.value);
      if (outcome.kind === "added") return context.redirect(`/stores/units/${outcome.unit}?told=added`, 303);
      const problems = { [fieldOf[outcome.rule]]: outcome.sentence };
      return showUnitForm(services, context, { problems, typed: { ...form.value } });
    },
  },
  {
    method: "GET",
    path: "/stores/models/new",
    needs: "add-unit",
    handle: (context) => showModelForm(services, context),
  },
  {
    method: "POST",
    path: "/stores/models/new",
    needs: "add-unit",
    handle: async (context) => {
      const form = await readForm(context, modelForm);
      if (!form.ok) return showModelForm(services, context, form);
      const outcome = addModel(services, actorOf(context), form.value);
      if (outcome.kind === "added") return context.redirect("/stores/units/new?told=model-added", 303);
      return showModelForm(services, context, {
        problems: { id: outcome.sentence },
        typed: modelAsTyped(form.value),
      });
    },
  },
];

const modelAsTyped = ({ width, depth, ...rest }: z.output<typeof modelForm>): Typed => ({
  ...Object.fromEntries(Object.entries(rest).map(([name, value]) => [name, String(value)])),
  width: String(width / 10),
  depth: String(depth / 10),
});

function showUnitForm(services: Services, context: AppContext, again?: Again) {
  return context.html(
    <UnitNewPage
      frame={storesFrame(services, context, "/stores/units")}
      models={allModels(services.db)}
      lots={allLots(services.db)}
      told={
        context.req.query("told") === "model-added" ? "The model is added: its units come next." : undefined
      }
      {...(again ? { problems: again.problems, typed: again.typed } : {})}
    />,
    again === undefined ? 200 : 422,
  );
}

function showModelForm(services: Services, context: AppContext, again?: Again) {
  return context.html(
    <ModelNewPage
      frame={storesFrame(services, context, "/stores/units")}
      {...(again ? { problems: again.problems, typed: again.typed } : {})}
    />,
    again === undefined ? 200 : 422,
  );
}
