import { z } from "zod";
import { UnitsPage } from "../../views/bench/units-page.tsx";
import { conditions } from "../domain/condition/condition.ts";
import { places } from "../domain/lifecycle/place.ts";
import type { Services } from "../services.ts";
import { countUnitsByCondition, unitsByCondition } from "../store/unit-assessments.ts";
import { benchFrame } from "./bench-frame.ts";
import { readQuery } from "./forms.ts";
import type { AppContext, Route } from "./route.ts";

const perPage = 50;
const unitQuery = z.object({
  level: z
    .enum([...conditions, "not-assessed"])
    .nullable()
    .catch(null)
    .default(null),
  place: z.enum(places).nullable().catch(null).default(null),
  text: z.string().max(100).catch("").default(""),
  page: z.coerce.number().int().min(1).max(100_000).catch(1).default(1),
});

export const unitsRoute = (services: Services): Route => ({
  method: "GET",
  path: "/bench/units",
  needs: "see-unit-health",
  handle: (context) => showUnits(services, context),
});

function showUnits(services: Services, context: AppContext) {
  const read = readQuery(context, unitQuery);
  const { level, place, text, page } = read.ok ? read.value : { level: null, place: null, text: "", page: 1 };
  const search = { level, place, text, limit: perPage, offset: (page - 1) * perPage };
  return context.html(
    <UnitsPage
      frame={benchFrame(services, context, "/bench/units")}
      units={unitsByCondition(services.db, search)}
      total={countUnitsByCondition(services.db, search)}
      page={page}
      perPage={perPage}
      query={{ level: level ?? "", place: place ?? "", text }}
    />,
  );
}
