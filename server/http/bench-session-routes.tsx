import { z } from "zod";
import { SessionsPage } from "../../views/bench/bench-sessions-page.tsx";
import type { Problems } from "../../views/layout/forms.tsx";
import { conclusions, parts, problems, seen } from "../domain/bench/coding.ts";
import { outcomes } from "../domain/bench/session.ts";
import { stepIds } from "../domain/bench/steps.ts";
import { equipmentId, unitSerial } from "../domain/ids.ts";
import { signBenchCertificate } from "../enrolment/bench-certificate-token.ts";
import type { Enrolment } from "../enrolment/enrolment.ts";
import { issueBenchCode } from "../enrolment/issue-bench-code.ts";
import { askForReading } from "../programme/bench-ask.ts";
import { finishSession } from "../programme/bench-finish.ts";
import { askToForget } from "../programme/bench-forget.ts";
import type { SessionSeen } from "../programme/bench-held.ts";
import { keepReading } from "../programme/bench-keep.ts";
import { abandonSession, goToStep, repeatStep, takeOverSession } from "../programme/bench-move.ts";
import { startBenchSession } from "../programme/bench-start.ts";
import type { Services } from "../services.ts";
import { benchSessionLines, countBenchSessions, openBenchSessionOf } from "../store/bench-sessions.ts";
import { unitsIn } from "../store/units.ts";
import { benchFrame } from "./bench-frame.ts";
import { sessionIn, showSession } from "./bench-session-page.tsx";
import { readForm, readQuery, ticked } from "./forms.ts";
import type { AppContext, Route } from "./route.ts";
import { lineField, pageField } from "./stores-fields.ts";

const perPage = 30;
const versionField = z.coerce.number().int().min(1);
const stepForm = z.object({ version: versionField, step: z.enum(stepIds) });
const seenForm = z.object({ version: versionField });
const askForm = z.object({
  version: versionField,
  point: z.string().max(40).optional(),
  equipment: z.string().max(60).transform(equipmentId).optional(),
  kilograms: z.coerce.number({ error: "Enter a number." }).min(0).max(1_000).optional(),
});
const keepForm = z.object({
  version: versionField,
  hazard: z.enum(["yes", "no"]).optional(),
  flex: z.enum(["nothing", "damage"]).optional(),
});
const finishForm = z.object({
  version: versionField,
  outcome: z.enum(outcomes, "Choose an outcome."),
  problem: z.enum(problems),
  seen: z.enum(seen),
  conclusion: z.enum(conclusions),
  part: ticked(z.enum(parts)),
  fitted: lineField(80).optional(),
  note: z.string().trim().max(1_000).optional(),
});

export function benchSessionRoutes(services: Services, enrolment: Enrolment): readonly Route[] {
  const post = (act: string, handle: (context: AppContext) => Promise<Response>): Route => ({
    method: "POST",
    path: `/bench/sessions/:id/${act}`,
    needs: "hold-bench-session",
    handle,
  });
  const show = (context: AppContext, refusal?: Problems, unreadable = false) =>
    showSession(services, enrolment, context, refusal === undefined ? {} : { problems: refusal, unreadable });
  const moved = (context: AppContext, outcome: { kind: string; sentence?: string }) =>
    outcome.kind === "refused"
      ? show(context, { form: outcome.sentence ?? "" })
      : context.redirect(`/bench/sessions/${sessionIn(context)}`, 303);
  const seenBy = (context: AppContext, version: number): SessionSeen => ({
    session: sessionIn(context),
    version,
  });
  const stale = { form: "The form was incomplete: it is shown as it is now." };
  return [
    {
      method: "GET",
      path: "/bench/sessions",
      needs: "see-bench-sessions",
      handle: (context) => list(services, context),
    },
    {
      method: "POST",
      path: "/bench/sessions",
      needs: "hold-bench-session",
      handle: (context) => start(services, context),
    },
    {
      method: "GET",
      path: "/bench/sessions/:id",
      needs: "see-bench-sessions",
      handle: (context) => show(context),
    },
    post("take-over", async (context) => {
      const form = await readForm(context, seenForm);
      if (!form.ok) return show(context, stale, true);
      return moved(context, takeOverSession(services, actorOf(context), seenBy(context, form.value.version)));
    }),
    post("go", async (context) => {
      const form = await readForm(context, stepForm);
      if (!form.ok) return show(context, stale, true);
      const { version, step } = form.value;
      return moved(context, goToStep(services, actorOf(context), seenBy(context, version), step));
    }),
    post("repeat", async (context) => {
      const form = await readForm(context, stepForm);
      if (!form.ok) return show(context, stale, true);
      const { version, step } = form.value;
      return moved(context, repeatStep(services, actorOf(context), seenBy(context, version), step));
    }),
    post("abandon", async (context) => {
      const form = await readForm(context, seenForm);
      if (!form.ok) return show(context, stale, true);
      return moved(context, abandonSession(services, actorOf(context), seenBy(context, form.value.version)));
    }),
    post("pair", async (context) =>
      moved(context, await issueBenchCode(services, enrolment, actorOf(context), sessionIn(context))),
    ),
    post("forget", async (context) => {
      const form = await readForm(context, seenForm);
      if (!form.ok) return show(context, stale, true);
      return moved(context, askToForget(services, actorOf(context), seenBy(context, form.value.version)));
    }),
    post("ask", async (context) => {
      const form = await readForm(context, askForm);
      if (!form.ok) return showSession(services, enrolment, context, { ...form, unreadable: true });
      const { version, point = null, equipment = null, kilograms = null } = form.value;
      const asked = { point, equipment, kilograms };
      const outcome = askForReading(services, actorOf(context), seenBy(context, version), asked);
      if (outcome.kind === "asked") return moved(context, outcome);
      const typed = { equipment: equipment ?? "", kilograms: kilograms === null ? "" : String(kilograms) };
      return showSession(services, enrolment, context, { problems: { form: outcome.sentence }, typed });
    }),
    post("keep", async (context) => {
      const form = await readForm(context, keepForm);
      if (!form.ok) return show(context, form.problems, true);
      const { version, hazard, flex } = form.value;
      const eye = {
        ...(hazard === undefined ? {} : { hazardSeen: hazard === "yes" }),
        ...(flex === undefined ? {} : { flexSeen: flex }),
      };
      return moved(context, await keepReading(services, actorOf(context), seenBy(context, version), eye));
    }),
    post("finish", async (context) => {
      const form = await readForm(context, finishForm);
      if (!form.ok) return showSession(services, enrolment, context, { ...form, unreadable: true });
      const {
        version,
        outcome,
        problem,
        seen: found,
        conclusion,
        part,
        fitted = null,
        note = null,
      } = form.value;
      const request = {
        outcome,
        code: { problem, seen: found, conclusion },
        parts: part.map((each) => ({ part: each, fitted })),
        note,
      };
      const ended = await finishSession(
        services,
        actorOf(context),
        seenBy(context, version),
        request,
        (content) => signBenchCertificate(enrolment, content),
      );
      if (ended.kind === "finished") return moved(context, ended);
      const typed = {
        outcome,
        problem,
        seen: found,
        conclusion,
        part,
        fitted: fitted ?? "",
        note: note ?? "",
      };
      return showSession(services, enrolment, context, { problems: { form: ended.sentence }, typed });
    }),
  ];
}

const actorOf = (context: AppContext) => ({ kind: "staff", id: context.get("signedIn").staff.id }) as const;

function list(services: Services, context: AppContext, refusal?: Problems) {
  const query = readQuery(context, z.object({ page: pageField }));
  const page = query.ok ? query.value.page : 1;
  const { db } = services;
  return context.html(
    <SessionsPage
      frame={benchFrame(services, context, "/bench/sessions")}
      sessions={benchSessionLines(db, { limit: perPage, offset: (page - 1) * perPage })}
      waiting={unitsIn(db, ["on-the-bench"]).filter(({ serial }) => openBenchSessionOf(db, serial) === null)}
      total={countBenchSessions(db)}
      page={page}
      perPage={perPage}
      problems={refusal}
    />,
    refusal === undefined ? 200 : 409,
  );
}

async function start(services: Services, context: AppContext) {
  const form = await readForm(context, z.object({ unit: z.string().max(64).transform(unitSerial) }));
  if (!form.ok) return list(services, context, { form: "Choose a unit." });
  const outcome = startBenchSession(services, actorOf(context), form.value.unit);
  if (outcome.kind === "started") return context.redirect(`/bench/sessions/${outcome.session}`, 303);
  return list(services, context, { form: outcome.sentence });
}
