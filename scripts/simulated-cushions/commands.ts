import type { Command } from "../../firmware-protocol/src/downlink.ts";
import type { RefusalReason, ResultState } from "../../firmware-protocol/src/messages.ts";
import type { MessageWriter } from "./message-writer.ts";
import type { MessageStore } from "./store.ts";

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
  readonly #store: MessageStore;
  readonly #answers = new Map<string, CommandAnswered>();

  constructor(writer: MessageWriter, store: MessageStore) {
    this.#writer = writer;
    this.#store = store;
  }

  /** @param wallSeconds null: the unit's clock isn't set [FP-11.4]
   *  @param carryOut writes what the command asks for, before the result that says so [FP-11.7] */
  take(command: Command, uptime: number, wallSeconds: number | null, carryOut: () => CommandAnswered): void {
    const known = this.#answers.get(command.id);
    const mayBegin = wallSeconds !== null || command.action === "identify";
    const tooLate = wallSeconds !== null && wallSeconds >= command.expiresUnixSeconds;
    if (known !== undefined) this.#sayAgain(command.id, known, uptime);
    else if (mayBegin) this.settle(command.id, tooLate ? expired : carryOut(), uptime);
  }

  /** The id could be read and the rest could not [FP-11.5]. */
  refuse(id: string, reason: RefusalReason, uptime: number): void {
    const known = this.#answers.get(id);
    if (known === undefined) this.settle(id, refusedBecause(reason), uptime);
    else this.#sayAgain(id, known, uptime);
  }

  /** What became of a command, at once or after it was accepted. */
  settle(id: string, answer: CommandAnswered, uptime: number): void {
    this.#remember(id, answer);
    this.#write(id, answer, uptime);
  }

  /** [FP-11.2] A result that still waits for its receipt says it already. */
  #sayAgain(id: string, answer: CommandAnswered, uptime: number): void {
    const waits = this.#store.messages.some((message) => message.kind === "result" && message.command === id);
    if (!waits) this.#write(id, answer, uptime);
  }

  #write(id: string, answer: CommandAnswered, uptime: number): void {
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
