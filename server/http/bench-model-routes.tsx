import { z } from "zod";
import { drawField, ModelPage } from "../../views/bench/model-page.tsx";
import { ModelsPage } from "../../views/bench/models-page.tsx";
import type { Problems, Typed } from "../../views/layout/forms.tsx";
import { type DescribedDraw, drawDefinitions } from "../domain/battery/cell-description.ts";
import { type BenchTolerances, toleranceDefinitions } from "../domain/bench/tolerances.ts";
import { type ModelId, modelId } from "../domain/ids.ts";
import { keysOf } from "../domain/keys-of.ts";
import { cellsAsWritten, cellsFrom } from "../domain/sensor-grid/cell-name.ts";
import { changeModelDescription, type DescribeRule } from "../programme/describe-model.ts";
import type { Services } from "../services.ts";
import { allModels, type ModelRow, modelById } from "../store/models.ts";
import { benchFrame } from "./bench-frame.ts";
import { readForm } from "./forms.ts";
import type { AppContext, Route } from "./route.ts";
import { lineField } from "./stores-fields.ts";

const names = keysOf(toleranceDefinitions);
const drawNames = keysOf(drawDefinitions);

const numberField = ({ low, high, whole }: { low: number; high: number; whole?: true }) => {
  const outside = `Enter a ${whole ? "whole " : ""}number from ${low} to ${high}, or nothing.`;
  const number = z.coerce.number<string>(outside).min(low, outside).max(high, outside);
  return (whole ? number.int(outside) : number).optional();
};

const limitsForm = z.object({
  seen: z.coerce.number<string>().int(),
  absent: z.string().max(20_000).default(""),
  from: lineField(200).optional(),
  ...Object.fromEntries(drawNames.map((name) => [drawField(name), numberField(drawDefinitions[name])])),
  ...Object.fromEntries(names.map((name) => [name, numberField(toleranceDefinitions[name])])),
});

const fieldOf: Readonly<Record<DescribeRule, string>> = {
  "unknown-model": "form",
  "changed-meanwhile": "form",
  "say-where-from": "from",
  "limits-contradict": "form",
  "no-cells-left": "absent",
};

const actorOf = (context: AppContext) => ({ kind: "staff", id: context.get("signedIn").staff.id }) as const;
const modelIn = (context: AppContext): ModelId => modelId(context.req.param("id") ?? "");

/** What the bench knows of each model. Stores adds models; what a sound one reads is the technician's to say. */
export const benchModelRoutes = (services: Services): readonly Route[] => [
  {
    method: "GET",
    path: "/bench/models",
    needs: "see-models",
    handle: (context) =>
      context.html(
        <ModelsPage
          frame={benchFrame(services, context, "/bench/models")}
          models={allModels(services.db).map(({ benchTolerances, absentCells, ...model }) => ({
            ...model,
            own: Object.keys(benchTolerances ?? {}).length,
            absent: absentCells?.length ?? 0,
          }))}
        />,
      ),
  },
  {
    method: "GET",
    path: "/bench/models/:id",
    needs: "see-models",
    handle: (context) => {
      const model = modelById(services.db, modelIn(context));
      return model === null ? context.notFound() : show(services, context, model);
    },
  },
  {
    method: "POST",
    path: "/bench/models/:id",
    needs: "describe-model",
    handle: (context) => change(services, context),
  },
];

async function change(services: Services, context: AppContext) {
  const model = modelById(services.db, modelIn(context));
  if (model === null) return context.notFound();
  const form = await readForm(context, limitsForm);
  if (!form.ok) return show(services, context, model, form);
  const { seen, absent, from, ...limits } = form.value;
  const typed = asTyped({ ...limits, from, absent });
  const cells = cellsFrom(absent, model);
  if (cells.kind === "not-a-cell") {
    const sentence = `“${cells.item}” is no place of a grid of ${model.rows} rows and ${model.columns} columns. Write row/column, such as 1/1.`;
    return show(services, context, model, { problems: { absent: sentence }, typed });
  }
  const request = {
    model: model.id,
    seen,
    own: ownIn(limits),
    draw: drawIn(limits),
    from: from ?? null,
    absent: cells.cells,
  };
  const outcome = changeModelDescription(services, actorOf(context), request);
  if (outcome.kind === "described") return context.redirect(`/bench/models/${model.id}?told`, 303);
  return show(
    services,
    context,
    model,
    { problems: { [fieldOf[outcome.rule]]: outcome.sentence }, typed },
    409,
  );
}

function ownIn(limits: Readonly<Record<string, number | undefined>>): Partial<BenchTolerances> {
  const given = names.flatMap((name) => {
    const value = limits[name];
    return value === undefined ? [] : [[name, value] as const];
  });
  return Object.fromEntries(given);
}

function drawIn(limits: Readonly<Record<string, number | undefined>>): Partial<DescribedDraw> {
  const given = drawNames.flatMap((name) => {
    const value = limits[drawField(name)];
    return value === undefined ? [] : [[name, value] as const];
  });
  return Object.fromEntries(given);
}

const asTyped = (values: Readonly<Record<string, string | number | null | undefined>>): Typed =>
  Object.fromEntries(Object.entries(values).map(([name, value]) => [name, String(value ?? "")]));

function show(
  services: Services,
  context: AppContext,
  model: ModelRow,
  again?: { readonly problems: Problems; readonly typed: Typed },
  status: 422 | 409 = 422,
) {
  const absent = model.absentCells ?? [];
  const stands = asTyped({
    ...model.benchTolerances,
    ...Object.fromEntries(drawNames.map((name) => [drawField(name), model.draw?.[name] ?? null])),
    from: model.tolerancesFrom,
    absent: cellsAsWritten(absent, model.columns),
  });
  return context.html(
    <ModelPage
      frame={benchFrame(services, context, "/bench/models")}
      model={{ ...model, absent }}
      typed={again?.typed ?? stands}
      problems={again?.problems}
      told={context.req.query("told") === undefined ? undefined : "These are now in force."}
    />,
    again === undefined ? 200 : status,
  );
}
