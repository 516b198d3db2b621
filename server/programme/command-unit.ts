import { newId } from "../chance.ts";
import { type Role, roles } from "../domain/access/roles.ts";
import { type CommandKind, commandsOf } from "../domain/commands/command.ts";
import { type CommandId, commandId, type UnitSerial } from "../domain/ids.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import { type Hours, hours, type Instant, instant, millisecondsIn } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { borrowerOfClinician } from "../store/clinic-people.ts";
import type { Database } from "../store/database.ts";
import { openLoanOfUnit } from "../store/loans.ts";
import { planToFollow } from "../store/pairing-codes.ts";
import type { CommandBody } from "../store/schema/commands.ts";
import { insertCommand, openCommandOf } from "../store/unit-commands.ts";
import { unitBySerial } from "../store/units.ts";
import type { StaffActor } from "./staff-actor.ts";

export interface CommandIssued {
  readonly kind: "issued";
  readonly command: CommandId;
}

export type CommandRule =
  | "unknown-unit"
  | "not-for-this-desk"
  | "not-your-person"
  | "no-plan"
  | "asked-already";

export interface CommandRequest {
  readonly unit: UnitSerial;
  readonly kind: CommandKind;
  readonly lifetime?: Hours;
}

/** A unit away for longer is better asked again by somebody who still wants to know. Assumption. */
export const commandLifetime = hours(24);

/** Asks a unit to do something once. It is told when it next connects, or at once where it is connected. */
export function commandUnit(
  services: Services,
  actor: StaffActor & { readonly role: Role },
  request: CommandRequest,
): CommandIssued | Refused<CommandRule> {
  const outcome = services.db.transaction((tx) => decideAndIssue(tx, services, actor, request), {
    behavior: "immediate",
  });
  if (outcome.kind === "issued") tellOfCommand(services, request.unit);
  return outcome;
}

export const tellOfCommand = (services: Services, unit: UnitSerial): void =>
  services.live.changed(`commands:${unit}`, `unit:${unit}`);

function decideAndIssue(
  db: Database,
  services: Services,
  actor: StaffActor & { readonly role: Role },
  { unit, kind, lifetime = commandLifetime }: CommandRequest,
): CommandIssued | Refused<CommandRule> {
  if (unitBySerial(db, unit) === null) return refused("unknown-unit", `There is no unit ${unit}.`);
  const against = reasonAgainst(db, actor, unit, kind);
  if (against !== null) return against;
  const now = services.clock.now();
  const open = openCommandOf(db, unit, kind);
  if (open !== null && open.expiresAt > now)
    return refused("asked-already", "It has been asked that already, and has not answered yet.");
  const body = bodyOf(db, unit, kind, now);
  if (body === null) return refused("no-plan", "No relief plan is in force that could be sent again.");
  return issueWithin(db, services, { unit, kind, lifetime, body, by: actor });
}

function reasonAgainst(
  db: Database,
  actor: StaffActor & { readonly role: Role },
  unit: UnitSerial,
  kind: CommandKind,
): Refused<CommandRule> | null {
  if (!commandsOf(actor.role).includes(kind)) {
    if (kind === "forget")
      return refused("not-for-this-desk", "A unit is told to forget in a session at the bench, off loan.");
    const desks = roles.filter((role) => commandsOf(role).includes(kind)).join(" or ");
    return refused("not-for-this-desk", `That is for a ${desks} to ask.`);
  }
  if (actor.role === "clinician") {
    const loan = openLoanOfUnit(db, unit);
    const own = loan !== null && borrowerOfClinician(db, actor.id, loan.borrowerId) !== null;
    if (!own) return refused("not-your-person", "This unit is not with a person on your list.");
  }
  return null;
}

function bodyOf(db: Database, unit: UnitSerial, kind: CommandKind, now: Instant): CommandBody | null {
  if (kind !== "plan") return {};
  const loan = openLoanOfUnit(db, unit);
  const plan = loan === null ? undefined : planToFollow(db, loan.borrowerId, now);
  return plan === undefined ? null : { planVersion: plan.version };
}

/** Writes it down; call `tellOfCommand` once the transaction has committed. */
export function issueWithin(
  db: Database,
  services: Services,
  request: {
    readonly unit: UnitSerial;
    readonly kind: CommandKind;
    readonly lifetime: Hours;
    readonly body: CommandBody;
    /** null: the programme itself. */
    readonly by: StaffActor | null;
  },
): CommandIssued {
  const { unit, kind, body, by } = request;
  const at = services.clock.now();
  const id = commandId(newId(services.chance, "cmd"));
  const expiresAt = instant(at + request.lifetime * millisecondsIn.hour);
  insertCommand(db, {
    id,
    unitSerial: unit,
    kind,
    body,
    issuedAt: at,
    issuedBy: by?.id ?? null,
    expiresAt,
    sentAt: null,
    state: "waiting",
    answer: null,
    answeredAt: null,
    found: null,
  });
  appendAudit(db, {
    at,
    actor: by === null ? { kind: "system" } : { kind: "staff", id: by.id },
    action: "command-unit",
    subject: `unit:${unit}`,
    detail: { command: id, asked: kind, expiresAt },
  });
  return { kind: "issued", command: id };
}
