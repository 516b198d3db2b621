import { stepById, stepIds } from "../../server/domain/bench/steps.ts";
import { unitSerial } from "../../server/domain/ids.ts";
import { addDays, localDayOf } from "../../server/domain/time/local-day.ts";
import { signBenchCertificate } from "../../server/enrolment/bench-certificate-token.ts";
import { issueBenchCode } from "../../server/enrolment/issue-bench-code.ts";
import { pairingCodePicture } from "../../server/enrolment/pairing-picture.ts";
import { askForReading } from "../../server/programme/bench-ask.ts";
import { registerEquipment } from "../../server/programme/bench-equipment.ts";
import { finishSession } from "../../server/programme/bench-finish.ts";
import { keepReading } from "../../server/programme/bench-keep.ts";
import { goToStep } from "../../server/programme/bench-move.ts";
import { startBenchSession } from "../../server/programme/bench-start.ts";
import type { StaffActor } from "../../server/programme/staff-actor.ts";
import type { RunningService } from "../../server/service.ts";
import { equipmentInUse } from "../../server/store/bench-equipment.ts";
import { openBenchSessionOf } from "../../server/store/bench-sessions.ts";
import { latestStepsOf } from "../../server/store/bench-steps.ts";
import type { BenchAct, DemoAnswer } from "./commands.ts";
import { done } from "./done.ts";

const plateKilograms = 80;

/** The rig and the weight that the bench presses and weighs with. */
export function registerLoads({ services }: RunningService, technician: StaffActor): void {
  const today = localDayOf(services.clock.now(), services.zone);
  const inDate = { calibratedOn: addDays(today, -40), dueOn: addDays(today, 325), coverageFactor: 2 };
  done(
    registerEquipment(services, technician, {
      kind: "plate",
      name: "Rig by the window",
      calibration: {
        ...inDate,
        certificateReference: "CAL-26-031",
        kilograms: 100,
        expandedUncertainty: 0.1,
        resolution: 0.1,
      },
    }),
  );
  done(
    registerEquipment(services, technician, {
      kind: "weight",
      name: "Round weight",
      calibration: {
        ...inDate,
        certificateReference: "CAL-26-032",
        kilograms: 20,
        expandedUncertainty: 0.002,
        resolution: 0,
      },
    }),
  );
}

/** A technician at the bench. */
export async function playAtBench(
  running: RunningService,
  technician: StaffActor,
  act: BenchAct,
): Promise<DemoAnswer> {
  const { services, enrolment } = running;
  switch (act.what) {
    case "begin": {
      const { session } = done(startBenchSession(services, technician, unitSerial(act.serial)));
      const { jws } = done(await issueBenchCode(services, enrolment, technician, session));
      return { pairingPicture: await pairingCodePicture(jws) };
    }
    case "ask":
      ask(running, technician, act.serial);
      return {};
    case "keep":
      return { kept: await keep(running, technician, act.serial) };
    case "finish":
      done(
        await finishSession(
          services,
          technician,
          seenOf(running, act.serial).seen,
          {
            outcome: "pass",
            code: { problem: "routine-check", seen: "nothing-found", conclusion: "no-fault-found" },
            parts: [],
            note: null,
          },
          (content) => signBenchCertificate(enrolment, content),
        ),
      );
      return {};
  }
}

function seenOf({ services }: RunningService, serial: string) {
  const session = openBenchSessionOf(services.db, unitSerial(serial));
  if (session === null) throw new Error(`No session is open for ${serial} in the story.`);
  return { session, seen: { session: session.id, version: session.version } };
}

function ask(running: RunningService, technician: StaffActor, serial: string): void {
  const { services } = running;
  const { session, seen } = seenOf(running, serial);
  const taken = latestStepsOf(services.db, session.id).get(session.step)?.readings ?? [];
  const point = stepById(session.step).points.find(({ id }) => taken.every((each) => each.point !== id));
  const known = equipmentInUse(services.db).find(({ kind }) => kind === point?.load);
  done(
    askForReading(services, technician, seen, {
      point: point?.id ?? null,
      equipment: known?.id ?? null,
      kilograms: point?.load === "plate" ? plateKilograms * shareOf(point.id) : null,
    }),
  );
}

/** How much of the full load the plate presses with. */
function shareOf(point: string): number {
  if (point.endsWith("-low")) return 0.3;
  return point.endsWith("-middle") ? 0.6 : 1;
}

/** Keeps what has come, and goes on to the next step once one is judged. @returns false: not all has come yet */
async function keep(running: RunningService, technician: StaffActor, serial: string): Promise<boolean> {
  const { services } = running;
  const { session, seen } = seenOf(running, serial);
  const eyes = { hazardSeen: false, flexSeen: "nothing" } as const;
  const outcome = await keepReading(services, technician, seen, eyes);
  if (outcome.kind === "refused" && outcome.rule === "not-all-there") return false;
  const next = stepIds[stepIds.indexOf(session.step) + 1];
  if (done(outcome).judged && next !== undefined)
    done(goToStep(services, technician, seenOf(running, serial).seen, next));
  return true;
}
