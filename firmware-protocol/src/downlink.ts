import type { MessageName, ReliefKind } from "./messages.ts";

/** Typed values of the messages a unit receives. Wire form and rules: SPEC.md. */

/** [FP-6.6] Sent after the commit. Everything of `boot` up to and with `through` is stored, save the holes: a unit may forget
 *  exactly that, and nothing on the strength of a PUBACK alone. */
export interface StoredUpTo {
  readonly boot: number;
  readonly through: number;
  readonly holes: readonly (readonly [from: number, to: number])[];
}

export interface Receipt {
  readonly kind: "receipt";
  readonly stored: readonly StoredUpTo[];
  /** The server's time when it was sent; the unit sets its clock by it. */
  readonly serverUnixSeconds: number;
}

export interface Plan {
  readonly kind: "plan";
  readonly version: number;
  readonly intervalMinutes: number;
  readonly holdSeconds: number;
  readonly kinds: readonly ReliefKind[];
}

export const commandActions = [
  "plan",
  "frame",
  "self-test",
  "identify",
  "report",
  "renew-certificate",
  "forget",
] as const;
export type CommandAction = (typeof commandActions)[number];

/** [FP-11.2] Carried out once, however often it is delivered. */
export interface Command {
  readonly kind: "command";
  readonly id: string;
  readonly expiresUnixSeconds: number;
  readonly action: CommandAction;
  /** [FP-7.13] `plan` only, and there always. */
  readonly planVersion?: number;
}

export interface Certificate {
  readonly kind: "certificate";
  /** The renewal it answers. */
  readonly renewal: MessageName;
  /** X.509, DER: the unit's own first, each next one the issuer of the one before. */
  readonly chain: readonly Uint8Array[];
}

export type DownlinkMessage = Receipt | Plan | Command | Certificate;
export type DownlinkKind = DownlinkMessage["kind"];
