import { z } from "zod";
import { SettingsPage } from "../../views/administration/settings-page.tsx";
import { type Problems, type Typed, typedText } from "../../views/layout/forms.tsx";
import { type SettingName, type Settings, settingDefinitions } from "../domain/settings.ts";
import { changeSettings, settingNames } from "../programme/change-settings.ts";
import type { Services } from "../services.ts";
import { settingsInForce } from "../store/settings.ts";
import { readForm } from "./forms.ts";
import { frameOf } from "./page-frame.ts";
import type { AppContext, Route } from "./route.ts";

const within = (name: SettingName) => {
  const { low, high, unit } = settingDefinitions[name];
  const outside = `Enter a number from ${low} to ${high} ${unit}.`;
  return z.coerce.number<string>(outside).min(low, outside).max(high, outside);
};

const settingsForm = z.object({
  shortestGapMinutes: within("shortestGapMinutes"),
  thinStretchDue: within("thinStretchDue"),
  sufficientOffMinutes: within("sufficientOffMinutes"),
  settledThreshold: within("settledThreshold"),
  settledThresholdPerson: within("settledThresholdPerson"),
  dayCountsFromShare: within("dayCountsFromShare"),
  daysForAFigure: within("daysForAFigure"),
  daysForATrend: within("daysForATrend"),
  dueForAComparison: within("dueForAComparison"),
  leadWithRangeUnobservedShare: within("leadWithRangeUnobservedShare"),
  useLearnedShares: within("useLearnedShares"),
  learnedFrom: within("learnedFrom"),
  documentedWorth: within("documentedWorth"),
  pairingCodeHours: within("pairingCodeHours"),
} satisfies Record<SettingName, z.ZodType>);

/** The programme's assumptions. */
export function settingsRoutes(services: Services): readonly Route[] {
  const show = (context: AppContext, typed: Typed, problems?: Problems) => {
    const told = context.req.query("told") === undefined ? {} : { told: "These are now in force." };
    const lines = settingNames.map((name) => ({
      name,
      definition: settingDefinitions[name],
      value: typedText(typed, name),
    }));
    return context.html(
      <SettingsPage
        frame={frameOf(services, context)}
        lines={lines}
        {...told}
        {...(problems ? { problems } : {})}
      />,
      problems ? 422 : 200,
    );
  };

  const change = async (context: AppContext) => {
    const form = await readForm(context, settingsForm);
    if (!form.ok) return show(context, form.typed, form.problems);
    changeSettings(services, context.get("signedIn").staff.id, form.value);
    return context.redirect("/settings?told", 303);
  };

  return [
    {
      method: "GET",
      path: "/settings",
      needs: "change-settings",
      handle: (context) => show(context, asTyped(settingsInForce(services.db))),
    },
    { method: "POST", path: "/settings", needs: "change-settings", handle: change },
  ];
}

const asTyped = (settings: Settings): Typed =>
  Object.fromEntries(Object.entries(settings).map(([name, value]) => [name, String(value)]));
