import { z } from "zod";
import type { Problems } from "../../views/layout/forms.tsx";
import { UnitPage } from "../../views/stores/unit-page.tsx";
import { UnitsPage } from "../../views/stores/units-page.tsx";
import { mayDo } from "../domain/access/roles.ts";
import { commandKinds, commandsOf } from "../domain/commands/command.ts";
import { unitSerial } from "../domain/ids.ts";
import { whereWords } from "../domain/lifecycle/moves.ts";
import { places } from "../domain/lifecycle/place.ts";
import { commandUnit } from "../programme/command-unit.ts";
import { moveUnit } from "../programme/move-unit.ts";
import type { Services } from "../services.ts";
import { usableCertificatesOf } from "../store/certificates.ts";
import { loansOfUnit } from "../store/loans.ts";
import { recallsBarringIssue } from "../store/recalls.ts";
import { commandLinesOf } from "../store/unit-commands.ts";
import { countUnitsMatching, stockByPlace, unitBySerial, unitsMatching } from "../store/units.ts";
import { unitsReservedForVisits } from "../store/visits.ts";
import { readForm, readQuery } from "./forms.ts";
import type { AppContext, Route } from "./route.ts";
import { pageField } from "./stores-fields.ts";
import { actorOf, storesFrame } from "./stores-frame.ts";

const unitsPerPage = 50;
const unitQuery = z.object({
  place: z.enum(places).nullable().catch(null).default(null),
  text: z.string().max(100).catch("").default(""),
  page: pageField,
});
const askForm = z.object({ kind: z.enum(commandKinds) });
const mostCommands = 10;
const moveForm = z.object({ from: z.enum(places), to: z.enum(places) });

/** These pages show borrowers of a unit, so they take the right to see loans. The bench has its own page of a unit. */
export const unitRoutes = (services: Services): readonly Route[] => [
  {
    method: "GET",
    path: "/stores/units",
    needs: "see-loans",
    handle: (context) => showUnits(services, context),
  },
  {
    method: "GET",
    path: "/stores/units/:serial",
    needs: "see-loans",
    handle: (context) => showUnit(services, context),
  },
  {
    method: "POST",
    path: "/stores/units/:serial/move",
    needs: "move-unit",
    handle: (context) => move(services, context),
  },
  {
    method: "POST",
    path: "/stores/units/:serial/commands",
    needs: "ask-unit-from-stores",
    handle: (context) => ask(services, context),
  },
];

async function ask(services: Services, context: AppContext) {
  const unit = unitSerial(context.req.param("serial") ?? "");
  const form = await readForm(context, askForm);
  if (!form.ok) return showUnit(services, context, { form: "Choose what to ask the unit." });
  const { role } = context.get("signedIn").staff;
  const outcome = commandUnit(services, { ...actorOf(context), role }, { unit, kind: form.value.kind });
  if (outcome.kind === "issued") return context.redirect(`/stores/units/${unit}?told=asked#commands`, 303);
  return showUnit(services, context, { form: outcome.sentence });
}

function showUnits(services: Services, context: AppContext) {
  const read = readQuery(context, unitQuery);
  const { place, text, page } = read.ok ? read.value : { place: null, text: "", page: 1 };
  const search = { place, text, limit: unitsPerPage, offset: (page - 1) * unitsPerPage };
  return context.html(
    <UnitsPage
      frame={storesFrame(services, context, "/stores/units")}
      stock={stockByPlace(services.db)}
      units={unitsMatching(services.db, search)}
      barred={recallsBarringIssue(services.db)}
      total={countUnitsMatching(services.db, search)}
      page={page}
      perPage={unitsPerPage}
      query={{ place: place ?? "", text }}
    />,
  );
}

function showUnit(services: Services, context: AppContext, problems?: Problems) {
  const serial = unitSerial(context.req.param("serial") ?? "");
  const unit = unitBySerial(services.db, serial);
  if (unit === null) return context.notFound();
  const told = context.req.query("told");
  return context.html(
    <UnitPage
      frame={storesFrame(services, context, "/stores/units")}
      unit={unit}
      barredBy={recallsBarringIssue(services.db).get(serial) ?? []}
      reserved={unitsReservedForVisits(services.db).has(serial)}
      reachable={usableCertificatesOf(services.db, serial, services.clock.now()).length > 0}
      mayAsk={commandsOf(context.get("signedIn").staff.role)}
      commands={commandLinesOf(services.db, serial, mostCommands)}
      loans={loansOfUnit(services.db, serial)}
      problems={problems}
      told={
        told === "asked"
          ? "The unit is asked. What becomes of it shows below by itself."
          : told === "added"
            ? "The unit is added."
            : told === "moved"
              ? `It is ${whereWords[unit.place]} now.`
              : undefined
      }
    />,
    problems === undefined ? 200 : 409,
  );
}

async function move(services: Services, context: AppContext) {
  const unit = unitSerial(context.req.param("serial") ?? "");
  // A refusal shows this desk's page of the unit, borrowers included: a technician moves units on the bench's own page.
  if (!mayDo(context.get("signedIn").staff.role, "see-loans"))
    return context.redirect(`/bench/units/${unit}`, 303);
  const form = await readForm(context, moveForm);
  if (!form.ok) return showUnit(services, context, { form: "Choose where the unit goes." });
  const outcome = moveUnit(services, actorOf(context), { unit, ...form.value });
  if (outcome.kind === "moved") return context.redirect(`/stores/units/${unit}?told=moved`, 303);
  return showUnit(services, context, { form: outcome.sentence });
}
