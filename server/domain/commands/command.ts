import type { Role } from "../access/roles.ts";
import type { Instant } from "../units.ts";

/** What a unit can be asked to do, by the names the protocol gives it. */
export const commandKinds = [
  "plan",
  "frame",
  "self-test",
  "identify",
  "report",
  "renew-certificate",
  "forget",
] as const;
export type CommandKind = (typeof commandKinds)[number];

/** `waiting`: for the unit. `sent`: it has acknowledged the command itself, no more. `expired`: nobody knows whether it
 *  was carried out, unless the unit itself said that it came too late. */
export const commandStates = ["waiting", "sent", "accepted", "done", "refused", "expired"] as const;
export type CommandState = (typeof commandStates)[number];

export const endingStates = ["done", "refused", "expired"] as const satisfies readonly CommandState[];
export const openStates = ["waiting", "sent", "accepted"] as const satisfies readonly CommandState[];

/** What the unit answered, as it answered it. */
export interface CommandAnswer {
  readonly state: "accepted" | "done" | "refused" | "expired";
  readonly reason: string | null;
  /** For a technician to read, and for no program to go by. */
  readonly detail: string | null;
}

/** What a self-test that was asked for found. */
export interface SelfTestFound {
  readonly passed: boolean;
  readonly cellsTested: number;
  readonly cellsFailed: number;
  readonly failedRows: readonly number[];
  readonly failedColumns: readonly number[];
}

export interface CommandLine {
  readonly id: string;
  readonly kind: CommandKind;
  readonly state: CommandState;
  readonly issuedAt: Instant;
  /** Name of whoever asked; null: the programme itself, or the unit. */
  readonly issuedBy: string | null;
  readonly expiresAt: Instant;
  readonly sentAt: Instant | null;
  readonly answeredAt: Instant | null;
  readonly answer: CommandAnswer | null;
  readonly found: SelfTestFound | null;
}

/** A plan is sent again and a certificate renewed by the programme too; the rest is asked by people. To forget is asked in
 *  a session at the bench alone: off loan a unit has no other way in, and on loan its record still grows. */
const byRole: Readonly<Record<Role, readonly CommandKind[]>> = {
  technician: ["frame", "self-test", "identify", "report", "renew-certificate"],
  clinician: ["frame", "report", "plan"],
  coordinator: ["identify", "report"],
  administrator: [],
};

/** Which commands a role may give at all; whose units, the programme decides. */
export const commandsOf = (role: Role): readonly CommandKind[] => byRole[role];
