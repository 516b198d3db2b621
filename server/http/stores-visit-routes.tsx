import { z } from "zod";
import type { Problems, Typed } from "../../views/layout/forms.tsx";
import { RunSheetPage } from "../../views/stores/run-sheet-page.tsx";
import { VisitPage } from "../../views/stores/visit-page.tsx";
import { VisitsPage } from "../../views/stores/visits-page.tsx";
import { staffId, visitId } from "../domain/ids.ts";
import { doorstepFindings, doorstepSteps } from "../domain/lifecycle/doorstep.ts";
import { inRunSheetOrder } from "../domain/lifecycle/run-sheet.ts";
import { localDayOf } from "../domain/time/local-day.ts";
import { callOffVisit } from "../programme/visit-call-off.ts";
import { completeVisit } from "../programme/visit-complete.ts";
import type { Services } from "../services.ts";
import { staffNamed, staffWorkingAs } from "../store/desk-staff.ts";
import { plannedVisits, plannedVisitsOf, type VisitInFull, visitById } from "../store/visits.ts";
import { readForm, readQuery, ticked } from "./forms.ts";
import type { AppContext, Route } from "./route.ts";
import { dayField, momentField } from "./stores-fields.ts";
import { actorOf, storesFrame } from "./stores-frame.ts";

const runSheetQuery = z.object({ person: z.string().transform(staffId), day: dayField });
const unitTo = z.enum(["coming-back", "quarantine"], "Say where the old unit is.");
const surface = z.enum(
  ["equivalent-in-place", "not-needed"],
  "Say what the person sits on from now on before the cushion goes.",
);

export const visitRoutes = (services: Services): readonly Route[] => [
  {
    method: "GET",
    path: "/stores/visits",
    needs: "plan-visit",
    handle: (context) => showVisits(services, context),
  },
  {
    method: "GET",
    path: "/stores/visits/run-sheet",
    needs: "plan-visit",
    handle: (context) => showRunSheet(services, context),
  },
  {
    method: "GET",
    path: "/stores/visits/:id",
    needs: "plan-visit",
    handle: (context) => {
      const visit = visitOf(services, context);
      return visit === null ? context.notFound() : showVisit(services, context, visit);
    },
  },
  {
    method: "POST",
    path: "/stores/visits/:id/complete",
    needs: "complete-visit",
    handle: (context) => complete(services, context),
  },
  {
    method: "POST",
    path: "/stores/visits/:id/no-access",
    needs: "complete-visit",
    handle: (context) => noAccess(services, context),
  },
  {
    method: "POST",
    path: "/stores/visits/:id/cancel",
    needs: "plan-visit",
    handle: (context) => cancel(services, context),
  },
];

const visitOf = (services: Services, context: AppContext): VisitInFull | null =>
  visitById(services.db, visitId(context.req.param("id") ?? ""));

const frameOf = (services: Services, context: AppContext) => storesFrame(services, context, "/stores/visits");

function showVisits(services: Services, context: AppContext) {
  return context.html(
    <VisitsPage
      frame={frameOf(services, context)}
      today={localDayOf(services.clock.now(), services.zone)}
      visits={plannedVisits(services.db)}
      people={staffWorkingAs(services.db, ["coordinator", "technician"])}
    />,
  );
}

function showRunSheet(services: Services, context: AppContext) {
  const query = readQuery(context, runSheetQuery);
  const person = query.ok ? staffNamed(services.db, query.value.person) : null;
  if (!query.ok || person === null) return context.redirect("/stores/visits", 303);
  return context.html(
    <RunSheetPage
      frame={{ ...frameOf(services, context), live: false }}
      person={person.name}
      day={query.value.day}
      stops={inRunSheetOrder(plannedVisitsOf(services.db, person.id, query.value.day))}
    />,
  );
}

interface Again {
  readonly problems: Problems;
  readonly typed: Typed;
  readonly status: 409 | 422;
}

function showVisit(services: Services, context: AppContext, visit: VisitInFull, again?: Again) {
  return context.html(
    <VisitPage
      frame={frameOf(services, context)}
      visit={visit}
      {...(again ? { problems: again.problems, typed: again.typed } : {})}
    />,
    again?.status ?? 200,
  );
}

async function complete(services: Services, context: AppContext) {
  const visit = visitOf(services, context);
  if (visit === null) return context.notFound();
  const form = await readForm(
    context,
    z.object({ unitTo, surface: visit.kind === "swap" ? surface.default("equivalent-in-place") : surface }),
  );
  // Said before anything else: a colleague may have recorded it meanwhile.
  if (!form.ok && visit.status === "planned")
    return showVisit(services, context, visit, { ...form, status: 422 });
  const answers = form.ok ? form.value : ({ unitTo: "coming-back", surface: "not-needed" } as const);
  const outcome = completeVisit(services, actorOf(context), { visit: visit.id, ...answers });
  if (outcome.kind === "refused")
    return showVisit(services, context, visit, {
      problems: { form: outcome.sentence },
      typed: { ...answers },
      status: 409,
    });
  return outcome.opened === null
    ? context.redirect(`/stores/loans/${visit.loanId}?told=ended`, 303)
    : context.redirect(`/stores/loans/${outcome.opened.loan}?told=opened`, 303);
}

const doorForm = (services: Services) =>
  z.object({
    found: z.enum(doorstepFindings, "Say what is known of why nobody came to the door."),
    steps: ticked(z.enum(doorstepSteps)),
    since: z.preprocess((typed) => (typed === "" ? undefined : typed), momentField(services.zone).optional()),
  });

/** Somebody went. */
async function noAccess(services: Services, context: AppContext) {
  const visit = visitOf(services, context);
  if (visit === null) return context.notFound();
  const form = await readForm(context, doorForm(services));
  if (!form.ok && visit.status === "planned")
    return showVisit(services, context, visit, { ...form, status: 422 });
  const door = form.ok ? { ...form.value, since: form.value.since ?? null } : null;
  const outcome = await callOffVisit(services, actorOf(context), {
    visit: visit.id,
    as: "no-access",
    ...(door ? { door } : {}),
  });
  return afterCallOff(services, context, visit, outcome);
}

async function cancel(services: Services, context: AppContext) {
  const visit = visitOf(services, context);
  if (visit === null) return context.notFound();
  const outcome = await callOffVisit(services, actorOf(context), { visit: visit.id, as: "cancelled" });
  return afterCallOff(services, context, visit, outcome);
}

function afterCallOff(
  services: Services,
  context: AppContext,
  visit: VisitInFull,
  outcome: Awaited<ReturnType<typeof callOffVisit>>,
) {
  if (outcome.kind === "called-off") return context.redirect(`/stores/visits/${visit.id}`, 303);
  const field = outcome.rule === "since-to-come" ? "since" : "form";
  return showVisit(services, context, visit, {
    problems: { [field]: outcome.sentence },
    typed: {},
    status: 409,
  });
}
