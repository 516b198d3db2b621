import type { CommandAnswer, SelfTestFound } from "../domain/commands/command.ts";
import { type CommandEvent, commandStep } from "../domain/commands/command-state.ts";
import type { CommandId, UnitSerial } from "../domain/ids.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import type { Database } from "../store/database.ts";
import { openLoanOfUnit } from "../store/loans.ts";
import {
  commandOfUnit,
  commandsPastTheirTime,
  openCommandsOf,
  saveFound,
  saveStanding,
  type UnitCommand,
} from "../store/unit-commands.ts";

/** What a unit that has just connected, or is connected, is to be told now. */
export function commandsToSend({ db, clock }: Services, unit: UnitSerial): readonly UnitCommand[] {
  const now = clock.now();
  const due = openCommandsOf(db, unit).filter(({ expiresAt }) => expiresAt > now);
  // Lent out again meanwhile: it would forget a record that has not all arrived.
  const lent = due.some(({ kind }) => kind === "forget") && openLoanOfUnit(db, unit) !== null;
  return lent ? due.filter(({ kind }) => kind !== "forget") : due;
}

/** The unit has acknowledged the command itself. */
export function noteCommandAcknowledged(services: Services, unit: UnitSerial, id: CommandId): void {
  follow(services, unit, id, { kind: "acknowledged", at: services.clock.now() });
}

/** What the unit says became of a command. Said again, or too late, it changes nothing. */
export function recordAnswer(
  services: Services,
  unit: UnitSerial,
  id: CommandId,
  answer: CommandAnswer,
): void {
  follow(services, unit, id, { kind: "answered", at: services.clock.now(), answer });
}

/** A self-test that a command asked for: written before the result that says done (FP-11.7). */
export function recordSelfTest(
  services: Services,
  unit: UnitSerial,
  id: CommandId,
  found: SelfTestFound,
): void {
  const kept = services.db.transaction(
    (tx) => {
      const command = commandOfUnit(tx, unit, id);
      if (command?.kind !== "self-test" || command.found !== null) return false;
      saveFound(tx, id, found);
      return true;
    },
    { behavior: "immediate" },
  );
  if (kept) services.live.changed(`unit:${unit}`);
}

/** Closes what nobody answered in time. */
export function expireCommands(services: Services): void {
  const at = services.clock.now();
  for (const { unitSerial, id } of commandsPastTheirTime(services.db, at))
    follow(services, unitSerial, id, { kind: "time-passed", at });
}

function follow(services: Services, unit: UnitSerial, id: CommandId, event: CommandEvent): void {
  const changed = services.db.transaction((tx) => stepWithin(tx, unit, id, event), {
    behavior: "immediate",
  });
  if (changed) services.live.changed(`unit:${unit}`);
}

function stepWithin(db: Database, unit: UnitSerial, id: CommandId, event: CommandEvent): boolean {
  // Another unit's command, or none of ours: a unit can say what it likes.
  const command = commandOfUnit(db, unit, id);
  const next = command === null ? null : commandStep(command, event);
  if (command === null || next === null) return false;
  saveStanding(db, id, next);
  if (event.kind !== "acknowledged") {
    appendAudit(db, {
      at: event.at,
      actor: event.kind === "answered" ? { kind: "unit", serial: unit } : { kind: "system" },
      action: event.kind === "answered" ? "answer-command" : "expire-command",
      subject: `unit:${unit}`,
      detail: { command: id, asked: command.kind, state: next.state, said: next.answer?.state ?? null },
    });
  }
  return true;
}
