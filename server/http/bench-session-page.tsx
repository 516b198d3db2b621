import { SessionPage } from "../../views/bench/bench-session-page.tsx";
import type { ConnectionShown, EquipmentChoice, MapShown } from "../../views/bench/bench-session-props.tsx";
import type { Problems, Typed } from "../../views/layout/forms.tsx";
import { fitnessOn } from "../domain/bench/equipment.ts";
import { badCellsOf, cellsOf, emptyMapOf } from "../domain/bench/judge-step.ts";
import { choicesFor, standingOf } from "../domain/bench/outcome.ts";
import { codeState } from "../domain/enrolment/pairing-code-state.ts";
import { type BenchSessionId, benchSessionId } from "../domain/ids.ts";
import { localDayOf } from "../domain/time/local-day.ts";
import type { Enrolment } from "../enrolment/enrolment.ts";
import { pairingCodeText } from "../enrolment/pairing-code-text.ts";
import { pairingCodePicture } from "../enrolment/pairing-picture.ts";
import { forgettingOfUnit } from "../programme/bench-forget.ts";
import { benchModelOf } from "../programme/bench-keep.ts";
import { framesOfSession, progressOf } from "../programme/bench-progress.ts";
import type { Services } from "../services.ts";
import { equipmentInUse } from "../store/bench-equipment.ts";
import { certificateOfSession } from "../store/bench-results.ts";
import { type BenchSessionRow, benchSessionById, benchSessionLinesOf } from "../store/bench-sessions.ts";
import { latestStepsOf } from "../store/bench-steps.ts";
import { certificateBySerial } from "../store/certificates.ts";
import { pairingCodesOfBenchSession } from "../store/pairing-codes.ts";
import { unitBySerial } from "../store/units.ts";
import { benchFrame } from "./bench-frame.ts";
import type { AppContext } from "./route.ts";

export const sessionIn = (context: AppContext): BenchSessionId =>
  benchSessionId(context.req.param("id") ?? "");

interface Again {
  readonly problems?: Problems;
  readonly typed?: Typed;
  /** What was sent couldn't be read, as against refused by a rule. */
  readonly unreadable?: boolean;
}

export async function showSession(
  services: Services,
  enrolment: Enrolment,
  context: AppContext,
  { problems, typed, unreadable = false }: Again,
) {
  const { db } = services;
  const session = benchSessionById(db, sessionIn(context));
  if (session === null) return context.notFound();
  const line = benchSessionLinesOf(db, session.unitSerial).find(({ id }) => id === session.id);
  if (line === undefined) return context.notFound();
  const taken = latestStepsOf(db, session.id);
  const model = benchModelOf(db, session);
  const forgetting = forgettingOfUnit(db, session.unitSerial);
  const progress = await progressOf(services, session);
  // A pairing code is shown on it: nobody's cache keeps a permission to join.
  context.header("Cache-Control", "no-store");
  return context.html(
    <SessionPage
      frame={benchFrame(services, context, "/bench/sessions")}
      session={{ ...line, version: session.version, note: session.note }}
      mine={session.heldBy === context.get("signedIn").staff.id}
      steps={[...taken.values()].map(({ step, attempt, judged, readings }) => ({
        id: step,
        attempt,
        judged,
        kept: readings.map(({ point }) => point),
      }))}
      asked={
        progress === null
          ? null
          : { ...progress, ready: progress.reading !== null || progress.facts !== null }
      }
      map={await mapOf(services, session)}
      connection={await connectionOf(services, enrolment, session)}
      equipment={equipmentChoices(services)}
      choices={choicesFor(standingOf(taken), cellsOf(model), session.tolerances.maskedShare, forgetting)}
      forgetting={forgetting}
      tolerances={session.tolerances}
      tolerancesFrom={session.tolerancesFrom}
      certificate={certificateOfSession(db, session.id)?.code ?? null}
      problems={problems}
      typed={typed}
    />,
    problems === undefined ? 200 : unreadable ? 422 : 409,
  );
}

async function mapOf(services: Services, session: BenchSessionRow): Promise<MapShown | null> {
  const last = (await framesOfSession(services, session)).at(-1);
  if (last === undefined) return null;
  const taken = latestStepsOf(services.db, session.id);
  const empty = emptyMapOf(taken);
  const { rows, columns, at } = last;
  const cells = Array.from(last.cells, (count, cell) => Math.max(0, count - (empty?.[cell] ?? 0)));
  return { rows, columns, at, cells, masked: [...badCellsOf(taken), ...(session.absentCells ?? [])] };
}

async function connectionOf(
  services: Services,
  enrolment: Enrolment,
  session: BenchSessionRow,
): Promise<ConnectionShown> {
  const none = { picture: null, typed: null, expiresAt: null };
  const codes = pairingCodesOfBenchSession(services.db, session.id);
  const [newest] = codes;
  if (newest !== undefined && codeState(newest, services.clock.now()) === "issued") {
    const { jws, typed } = await pairingCodeText(enrolment, newest);
    const picture = (await pairingCodePicture(jws)).replace(
      "<svg ",
      '<svg class="pairing-code" role="img" aria-label="Pairing code" ',
    );
    return { state: "code-issued", picture, typed, expiresAt: newest.expiresAt, lastHeardAt: null };
  }
  const paired = codes.some(({ certificateSerial: serial }) => {
    const certificate = serial === null ? undefined : certificateBySerial(services.db, serial);
    return certificate !== undefined && certificate.revokedAt === null;
  });
  const lastHeardAt = unitBySerial(services.db, session.unitSerial)?.lastHeardAt ?? null;
  return { ...none, state: paired ? "paired" : "none", lastHeardAt: paired ? lastHeardAt : null };
}

/** What is out of date is offered too, last: choosing it says why it is refused. */
function equipmentChoices({ db, clock, zone }: Services): readonly EquipmentChoice[] {
  const today = localDayOf(clock.now(), zone);
  const items = equipmentInUse(db).map((item) => ({
    ...item,
    fit: fitnessOn(item.calibration, today).kind === "in-date",
  }));
  items.sort((a, b) => Number(b.fit) - Number(a.fit));
  return items.map(({ id, kind, name, calibration, fit }) => {
    const size = calibration === null ? "" : `, ${kind === "plate" ? "to " : ""}${calibration.kilograms} kg`;
    return { id, kind, words: `${name}${size}${fit ? "" : " (calibration not in date)"}` };
  });
}
