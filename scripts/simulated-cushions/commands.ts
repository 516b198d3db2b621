import type { Command, RefusalReason, ResultState } from "../../firmware-protocol/src/messages.ts";
import type { MessageWriter } from "./message-writer.ts";

/** [FP-11.2] */
const remembered = 16;

export interface CommandAnswered {
  readonly state: ResultState;
  readonly reason: RefusalReason | null;
}

export const done: CommandAnswered = { state: "done", reason: null };
export const accepted: CommandAnswered = { state: "accepted", reason: null };
export const expired: CommandAnswered = { state: "expired", reason: null };
export const refusedBecause = (reason: RefusalReason): CommandAnswered => ({ state: "refused", reason });

/** Carries each command out once and answers it, however often it comes. */
export class CommandMemory {
  readonly #writer: MessageWriter;
  readonly #answers = new Map<string, CommandAnswered>();

  constructor(writer: MessageWriter) {
    this.#writer = writer;
  }

  /** @param wallSeconds null: the unit's clock isn't set [FP-11.4]
   *  @param carryOut writes what the command asks for, before the result that says so [FP-11.7] */
  take(
    command: Command,
    uptime: number,
    wallSeconds: number | null,
    carryOut: () => CommandAnswered,
  ): CommandAnswered | null {
    const known = this.#answers.get(command.id);
    if (known === undefined && wallSeconds === null && command.action !== "identify") return null;
    const tooLate = wallSeconds !== null && wallSeconds >= command.expiresUnixSeconds;
    const answer = known ?? (tooLate ? expired : carryOut());
    this.#remember(command.id, answer);
    this.#writer.write({ kind: "result", command: command.id, atUptimeSeconds: uptime, ...answer }, uptime);
    return known === undefined ? answer : null;
  }

  /** What was accepted has come to its end. */
  settle(id: string, answer: CommandAnswered, uptime: number): void {
    this.#remember(id, answer);
    this.#writer.write({ kind: "result", command: id, atUptimeSeconds: uptime, ...answer }, uptime);
  }

  #remember(id: string, answer: CommandAnswered): void {
    if (!this.#answers.has(id) && this.#answers.size >= remembered) {
      const [oldest] = this.#answers.keys();
      if (oldest !== undefined) this.#answers.delete(oldest);
    }
    this.#answers.set(id, answer);
  }
}
