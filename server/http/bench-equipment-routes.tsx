import { z } from "zod";
import { EquipmentPage } from "../../views/bench/equipment-page.tsx";
import { benchSections } from "../../views/bench/sections.ts";
import type { Problems, Typed } from "../../views/layout/forms.tsx";
import { equipmentKinds, fitnessOn } from "../domain/bench/equipment.ts";
import { equipmentId } from "../domain/ids.ts";
import { localDayOf } from "../domain/time/local-day.ts";
import { registerEquipment, renewCalibration, withdrawFromUse } from "../programme/bench-equipment.ts";
import type { Services } from "../services.ts";
import { equipmentInUse } from "../store/bench-equipment.ts";
import { readForm } from "./forms.ts";
import { frameOf } from "./page-frame.ts";
import type { AppContext, Route } from "./route.ts";
import { dayField, lineField } from "./stores-fields.ts";

const number = (low: number, high: number) =>
  z.coerce.number({ error: "Enter a number." }).min(low).max(high);
const calibration = {
  certificate: lineField(60),
  calibratedOn: dayField,
  dueOn: dayField,
  kilograms: number(0.001, 1_000),
  uncertainty: number(0, 100),
  factor: number(1, 5),
  resolution: number(0, 10),
};
const calibrationForm = z.object(calibration);
const registerForm = z.object({ kind: z.enum(equipmentKinds), name: lineField(60), ...calibration });

const calibrationIn = (form: z.output<typeof calibrationForm>) => ({
  certificateReference: form.certificate,
  calibratedOn: form.calibratedOn,
  dueOn: form.dueOn,
  kilograms: form.kilograms,
  expandedUncertainty: form.uncertainty,
  coverageFactor: form.factor,
  resolution: form.resolution,
});

const actorOf = (context: AppContext) => ({ kind: "staff", id: context.get("signedIn").staff.id }) as const;
const path = "/bench/equipment";

/** Known loads belong to whoever keeps the bench: technicians and the administrator. */
export const benchEquipmentRoutes = (services: Services): readonly Route[] => [
  { method: "GET", path, needs: "see-bench-equipment", handle: (context) => show(services, context) },
  {
    method: "POST",
    path,
    needs: "keep-bench-equipment",
    handle: async (context) => {
      const form = await readForm(context, registerForm);
      if (!form.ok) return show(services, context, { ...form, unreadable: true });
      const { kind, name, ...rest } = form.value;
      const request = { kind, name, calibration: calibrationIn(rest) };
      const outcome = registerEquipment(services, actorOf(context), request);
      if (outcome.kind === "registered") return context.redirect(`${path}?told=registered`, 303);
      const typed = Object.fromEntries(
        Object.entries(form.value).map(([key, value]) => [key, String(value)]),
      );
      return show(services, context, { problems: { [fieldOf(outcome.rule)]: outcome.sentence }, typed });
    },
  },
  {
    method: "POST",
    path: `${path}/:id/calibration`,
    needs: "keep-bench-equipment",
    handle: async (context) => {
      const form = await readForm(context, calibrationForm);
      if (!form.ok)
        return show(services, context, {
          problems: { form: Object.values(form.problems).join(" ") },
          unreadable: true,
        });
      const request = { equipment: idIn(context), calibration: calibrationIn(form.value) };
      const outcome = renewCalibration(services, actorOf(context), request);
      if (outcome.kind === "renewed") return context.redirect(`${path}?told=renewed`, 303);
      return show(services, context, { problems: { form: outcome.sentence } });
    },
  },
  {
    method: "POST",
    path: `${path}/:id/withdraw`,
    needs: "keep-bench-equipment",
    handle: (context) => {
      const outcome = withdrawFromUse(services, actorOf(context), idIn(context));
      if (outcome.kind === "renewed") return context.redirect(`${path}?told=withdrawn`, 303);
      return show(services, context, { problems: { form: outcome.sentence } });
    },
  },
];

const idIn = (context: AppContext) => equipmentId(context.req.param("id") ?? "");
const fieldOf = (rule: string): string =>
  rule === "name-taken" ? "name" : rule === "days-reversed" ? "dueOn" : "form";

function show(
  services: Services,
  context: AppContext,
  again: { readonly problems?: Problems; readonly typed?: Typed; readonly unreadable?: boolean } = {},
) {
  const today = localDayOf(services.clock.now(), services.zone);
  const frame = { ...frameOf(services, context), path };
  const { role } = context.get("signedIn").staff;
  return context.html(
    <EquipmentPage
      frame={role === "technician" ? { ...frame, sections: benchSections } : frame}
      items={equipmentInUse(services.db).map((item) => ({
        ...item,
        fitness: fitnessOn(item.calibration, today),
      }))}
      problems={again.problems}
      typed={again.typed}
      told={toldWords(context.req.query("told"))}
    />,
    again.problems === undefined ? 200 : again.unreadable ? 422 : 409,
  );
}

function toldWords(told: string | undefined): string | undefined {
  switch (told) {
    case "registered":
      return "It is registered.";
    case "renewed":
      return "The new calibration is entered.";
    case "withdrawn":
      return "It is out of use; certificates that name it stay as they are.";
    case undefined:
      return undefined;
  }
  return undefined;
}
