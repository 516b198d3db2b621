import { fitnessOn } from "../domain/bench/equipment.ts";
import type { AppliedLoad } from "../domain/bench/reading.ts";
import { type BenchPoint, stepById } from "../domain/bench/steps.ts";
import type { CommandKind } from "../domain/commands/command.ts";
import { commandId, type EquipmentId, equipmentId } from "../domain/ids.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import { localDayOf } from "../domain/time/local-day.ts";
import { hours } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { type EquipmentItem, equipmentById } from "../store/bench-equipment.ts";
import { type BenchSessionRow, changeBenchSession } from "../store/bench-sessions.ts";
import type { Database } from "../store/database.ts";
import { commandOfUnit, saveStanding } from "../store/unit-commands.ts";
import { type HoldRule, heldSession, type SessionSeen } from "./bench-held.ts";
import { issueWithin, tellOfCommand } from "./command-unit.ts";
import type { StaffActor } from "./staff-actor.ts";

export interface ReadingAsked {
  /** One of the step's points; for steps without points, whatever the step itself asks. */
  readonly point: string | null;
  readonly equipment: EquipmentId | null;
  /** What the rig's own display shows, kg; for a weight its certificate says it. */
  readonly kilograms: number | null;
}

export type AskRule = HoldRule | "unknown-point" | "no-known-load" | "out-of-calibration" | "over-range";

/** Nobody waits at a bench for longer. Assumption. */
const lifetime = hours(1);

/** Asks the unit for the readings of one point, or for what else the step needs of it. A rig or weight whose calibration
 *  isn't in date is refused before anything is asked. */
export function askForReading(
  services: Services,
  actor: StaffActor,
  seen: SessionSeen,
  asked: ReadingAsked,
): { readonly kind: "asked" } | Refused<AskRule> {
  const outcome = services.db.transaction((tx) => askWithin(tx, services, actor, seen, asked), {
    behavior: "immediate",
  });
  if (outcome.kind === "refused") return outcome;
  tellOfCommand(services, outcome.unit);
  return { kind: "asked" };
}

function askWithin(
  db: Database,
  services: Services,
  actor: StaffActor,
  seen: SessionSeen,
  asked: ReadingAsked,
) {
  const held = heldSession(db, actor.id, seen);
  if (held.kind === "refused") return held;
  const { session } = held;
  const step = stepById(session.step);
  const point = step.points.find(({ id }) => id === asked.point) ?? null;
  if (step.points.length > 0 && point === null)
    return refused("unknown-point", "Choose which reading of this step to take.");
  const against = point === null ? null : loadRefused(services, db, point, asked);
  if (against !== null) return against;
  const at = services.clock.now();
  withdrawOpen(db, session);
  const commands = kindsAsked(session, point).map(
    (kind) =>
      issueWithin(db, services, { unit: session.unitSerial, kind, lifetime, body: {}, by: actor }).command,
  );
  changeBenchSession(db, session.id, seen.version, {
    at,
    asked: {
      point: point?.id ?? step.id,
      at,
      commands,
      equipment: asked.equipment,
      kilograms: asked.kilograms,
    },
  });
  return { kind: "asked", unit: session.unitSerial } as const;
}

function kindsAsked(session: BenchSessionRow, point: BenchPoint | null): readonly CommandKind[] {
  if (point !== null) return Array.from({ length: session.tolerances.repeats }, () => "frame" as const);
  return session.step === "line-sweep" ? ["self-test"] : ["report"];
}

/** What was asked before and not answered yet: it would mix into the new readings. */
function withdrawOpen(db: Database, session: BenchSessionRow): void {
  for (const id of session.asked?.commands ?? []) {
    const command = commandOfUnit(db, session.unitSerial, commandId(id));
    if (command === null || !["waiting", "sent", "accepted"].includes(command.state)) continue;
    saveStanding(db, id, { ...command, state: "expired" });
  }
}

const kindFor = { plate: "plate", weight: "weight" } as const;

function loadRefused(
  services: Services,
  db: Database,
  point: BenchPoint,
  asked: ReadingAsked,
): Refused<AskRule> | null {
  if (point.load !== "plate" && point.load !== "weight") return null;
  const item = asked.equipment === null ? null : equipmentById(db, asked.equipment);
  if (item === null || item.kind !== kindFor[point.load])
    return refused(
      "no-known-load",
      point.load === "plate"
        ? "Choose the rig that presses. If none is listed, register it under Rigs and weights."
        : "Choose the weight. If none is listed, register it under Rigs and weights.",
    );
  return unfit(services, item) ?? outOfRange(point, item, asked);
}

function unfit(services: Services, { name, calibration }: EquipmentItem): Refused<AskRule> | null {
  const fitness = fitnessOn(calibration, localDayOf(services.clock.now(), services.zone));
  switch (fitness.kind) {
    case "in-date":
      return null;
    case "expired":
      return refused(
        "out-of-calibration",
        `The calibration of ${name} ran out on ${fitness.dueOn}: what it presses with is not known. Use another, or have it calibrated and enter the new certificate under Rigs and weights.`,
      );
    case "not-calibrated":
      return refused(
        "out-of-calibration",
        `${name} has no calibration yet: enter its certificate under Rigs and weights.`,
      );
    case "not-yet":
      return refused(
        "out-of-calibration",
        `The certificate of ${name} is dated ${fitness.calibratedOn}, after today: check it under Rigs and weights.`,
      );
  }
}

function outOfRange(point: BenchPoint, item: EquipmentItem, asked: ReadingAsked): Refused<AskRule> | null {
  if (point.load !== "plate") return null;
  const most = item.calibration?.kilograms ?? 0;
  const shown = asked.kilograms;
  if (shown !== null && shown > 0 && shown <= most) return null;
  return refused(
    "over-range",
    `Type the load that ${item.name} shows: more than 0, and at most the ${most} kg it is calibrated for.`,
  );
}

/** What really pressed, for a reading that was asked for so. null: nothing known. */
export function appliedLoad(db: Database, session: BenchSessionRow): AppliedLoad | null {
  const { asked } = session;
  const item = asked?.equipment == null ? null : equipmentById(db, equipmentId(asked.equipment));
  const calibration = item?.calibration;
  if (!item || !calibration) return null;
  const kilograms = item.kind === "weight" ? calibration.kilograms : asked?.kilograms;
  if (kilograms == null) return null;
  return {
    equipment: `${item.name} (${calibration.certificateReference})`,
    kilograms,
    certificate: calibration.expandedUncertainty / calibration.coverageFactor,
    resolution: calibration.resolution,
  };
}
