import { z } from "zod";
import { UnitPage } from "../../views/bench/unit-page.tsx";
import type { Problems } from "../../views/layout/forms.tsx";
import { mayDo } from "../domain/access/roles.ts";
import { commandKinds, commandsOf } from "../domain/commands/command.ts";
import { byWeight } from "../domain/condition/condition-of.ts";
import { findingId, type UnitSerial, unitSerial } from "../domain/ids.ts";
import { places } from "../domain/lifecycle/place.ts";
import { type Instant, instant, millisecondsIn } from "../domain/units.ts";
import { healthOfUnit } from "../programme/assess-unit.ts";
import { commandUnit } from "../programme/command-unit.ts";
import { judgeFinding } from "../programme/judge-finding.ts";
import { moveUnit } from "../programme/move-unit.ts";
import type { StaffActor } from "../programme/staff-actor.ts";
import { toldBySwapOfUnit } from "../programme/told-by-swap.ts";
import type { Services } from "../services.ts";
import { benchSessionLinesOf } from "../store/bench-sessions.ts";
import { certificatesInUseEndingBefore, usableCertificatesOf } from "../store/certificates.ts";
import { codingsOf, partChangesOf } from "../store/fault-codings.ts";
import { findingById, openFindingsOf, pastFindingsOf } from "../store/findings.ts";
import { recallsBarringIssue } from "../store/recalls.ts";
import { assessmentOf, loanTimesOfUnit } from "../store/unit-assessments.ts";
import { commandLinesOf } from "../store/unit-commands.ts";
import { unitBySerial } from "../store/units.ts";
import { unitsReservedForVisits } from "../store/visits.ts";
import { benchFrame } from "./bench-frame.ts";
import { readForm } from "./forms.ts";
import type { AppContext, Route } from "./route.ts";

const judgeForm = z.object({ judgement: z.enum(["confirmed", "refuted", "none"]) });
const moveForm = z.object({ from: z.enum(places), to: z.enum(places) });
const commandForm = z.object({ kind: z.enum(commandKinds) });
const mostPast = 50;
const mostCommands = 10;

export const unitRoutes = (services: Services): readonly Route[] => [
  {
    method: "GET",
    path: "/bench/units/:serial",
    needs: "see-unit-health",
    handle: (context) => showUnit(services, context, serialIn(context)),
  },
  // The answer shows the unit's health, so the right to see that is asked first, and the right to move it next.
  {
    method: "POST",
    path: "/bench/units/:serial/move",
    needs: "see-unit-health",
    handle: (context) => move(services, context),
  },
  {
    method: "POST",
    path: "/bench/units/:serial/commands",
    needs: "command-unit",
    handle: (context) => command(services, context),
  },
  {
    method: "POST",
    path: "/bench/findings/:id",
    needs: "judge-finding",
    handle: (context) => judge(services, context),
  },
];

const week = 7 * 24 * millisecondsIn.hour;
/** A unit's clock may run a little ahead of ours. */
const lastWeek = (now: Instant) => ({
  start: instant(now - week),
  end: instant(now + millisecondsIn.minute),
});

const month = 30 * 24 * millisecondsIn.hour;
/** Where it is on loan and that is within a month. */
const certificateEndOf = ({ db, clock }: Services, serial: UnitSerial): Instant | null =>
  certificatesInUseEndingBefore(db, instant(clock.now() + month)).find(({ unit }) => unit === serial)
    ?.expiresAt ?? null;

const serialIn = (context: AppContext) => unitSerial(context.req.param("serial") ?? "");

async function showUnit(
  services: Services,
  context: AppContext,
  serial: ReturnType<typeof unitSerial>,
  problems?: Problems,
) {
  const { db, telemetry } = services;
  const unit = unitBySerial(db, serial);
  if (unit === null) return context.notFound();
  const recorded = await telemetry.lastRecordedAt([serial]);
  return context.html(
    <UnitPage
      frame={benchFrame(services, context, "/bench/units")}
      unit={unit}
      barredBy={recallsBarringIssue(db).get(serial) ?? []}
      reserved={unitsReservedForVisits(db).has(serial)}
      assessedAt={assessmentOf(db, serial)?.assessedAt ?? null}
      lastRecordedAt={recorded.get(serial) ?? null}
      health={await healthOfUnit(services, serial)}
      record={await telemetry.read(serial, lastWeek(services.clock.now()))}
      swap={await toldBySwapOfUnit(services, serial)}
      open={[...openFindingsOf(db, serial)].sort(byWeight)}
      past={pastFindingsOf(db, serial, mostPast)}
      loans={loanTimesOfUnit(db, serial)}
      certificateEnds={certificateEndOf(services, serial)}
      reachable={usableCertificatesOf(db, serial, services.clock.now()).length > 0}
      bench={{
        sessions: benchSessionLinesOf(db, serial),
        codings: codingsOf(db, serial),
        parts: partChangesOf(db, serial),
      }}
      mayAsk={commandsOf(context.get("signedIn").staff.role)}
      commands={commandLinesOf(db, serial, mostCommands)}
      problems={problems}
      told={toldWords(context.req.query("told"))}
    />,
    problems === undefined ? 200 : 409,
  );
}

const actorOf = (context: AppContext): StaffActor => ({
  kind: "staff",
  id: context.get("signedIn").staff.id,
});

async function move(services: Services, context: AppContext) {
  const unit = serialIn(context);
  if (!mayDo(context.get("signedIn").staff.role, "move-unit")) return context.notFound();
  const form = await readForm(context, moveForm);
  if (!form.ok) return showUnit(services, context, unit, { form: "Choose where the unit goes." });
  const outcome = moveUnit(services, actorOf(context), { unit, ...form.value });
  if (outcome.kind === "moved") return context.redirect(`/bench/units/${unit}?told=moved#place`, 303);
  return showUnit(services, context, unit, { form: outcome.sentence });
}

async function command(services: Services, context: AppContext) {
  const unit = serialIn(context);
  const form = await readForm(context, commandForm);
  if (!form.ok) return showUnit(services, context, unit, { form: "Choose what to ask the unit." });
  const { role } = context.get("signedIn").staff;
  const outcome = commandUnit(services, { ...actorOf(context), role }, { unit, kind: form.value.kind });
  if (outcome.kind === "issued") return context.redirect(`/bench/units/${unit}?told=asked#commands`, 303);
  return showUnit(services, context, unit, { form: outcome.sentence });
}

async function judge(services: Services, context: AppContext) {
  const id = findingId(context.req.param("id") ?? "");
  const finding = findingById(services.db, id);
  if (finding === null) return context.notFound();
  const form = await readForm(context, judgeForm);
  if (!form.ok) return showUnit(services, context, finding.unit, { form: "Say whether it is so." });
  const { judgement } = form.value;
  const outcome = await judgeFinding(services, actorOf(context), {
    id,
    judgement: judgement === "none" ? null : judgement,
  });
  if (outcome.kind === "judged")
    return context.redirect(`/bench/units/${finding.unit}?told=${judgement}#findings`, 303);
  return showUnit(services, context, finding.unit, { form: outcome.sentence });
}

function toldWords(told: string | undefined): string | undefined {
  switch (told) {
    case "asked":
      return "The unit is asked. What becomes of it shows below by itself.";
    case "moved":
      return "It is moved.";
    case "confirmed":
      return "The finding is confirmed and kept with the unit’s record.";
    case "refuted":
      return "The finding is refuted: it weighs no more, and isn’t raised again until its signs have gone.";
    case "none":
      return "What was said of the finding is taken back.";
    case undefined:
      return undefined;
  }
  return undefined;
}
