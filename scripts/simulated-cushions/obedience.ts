import type { Command } from "../../firmware-protocol/src/downlink.ts";
import type { UnreadableCommand } from "../../firmware-protocol/src/unreadable-command.ts";
import { accepted, type CommandAnswered, CommandMemory, done, expired, refusedBecause } from "./commands.ts";
import type { MessageWriter } from "./message-writer.ts";
import type { MessageStore } from "./store.ts";
import type { UnitClock } from "./unit-clock.ts";
import type { Moment } from "./wall-clock.ts";

/** What a unit can be asked to do, each before the result that says so [FP-11.7]. */
export interface Obedient {
  /** @returns false before anything was sensed */
  picture(at: Moment, uptime: number): boolean;
  report(at: Moment, uptime: number): void;
  selfTest(at: Moment, uptime: number, command: string): void;
  /** @returns whether a plan of this version, or a newer one, is in force */
  follows(planVersion: number): boolean;
  /** The plan, the grid's baseline and the relays it knows; its store is empty by then [FP-11.8]. */
  forgetAll(): void;
}

/** A unit's way with commands: each once, answered truly, over resets. */
export class Obedience {
  readonly #writer: MessageWriter;
  readonly #store: MessageStore;
  readonly #clock: UnitClock;
  readonly #unit: Obedient;
  readonly #memory: CommandMemory;
  #forgetting: Command | null = null;

  constructor(writer: MessageWriter, store: MessageStore, clock: UnitClock, unit: Obedient) {
    this.#writer = writer;
    this.#store = store;
    this.#clock = clock;
    this.#unit = unit;
    this.#memory = new CommandMemory(writer, store);
  }

  /** @param request for the command to renew its certificate: PKCS#10 for a new key, DER */
  take(command: Command, at: Moment, request: Uint8Array | null): void {
    const uptime = this.#clock.uptimeAt(at);
    this.#memory.take(command, uptime, this.#clock.wallSecondsAt(uptime), () =>
      this.#carryOut(command, at, uptime, request),
    );
  }

  /** A command of which the id could be read and not the rest [FP-11.5]. */
  refuse({ id, reason }: UnreadableCommand, at: Moment): void {
    this.#memory.refuse(id, reason, this.#clock.uptimeAt(at));
  }

  /** A receipt came. [FP-11.8] It forgets only once everything it keeps has arrived. A reset between does not end it:
   *  the next boot goes on, or lets it expire [FP-11.6]. */
  receipted(at: Moment): void {
    this.timePassed(at);
    const command = this.#forgetting;
    if (command === null || this.#store.length > 0) return;
    this.#forgetting = null;
    this.#unit.forgetAll();
    this.#memory.settle(command.id, done, this.#clock.uptimeAt(at));
  }

  /** What it was still to do may be too late now. */
  timePassed(at: Moment): void {
    const uptime = this.#clock.uptimeAt(at);
    const wall = this.#clock.wallSecondsAt(uptime);
    const command = this.#forgetting;
    if (command === null || wall === null || wall < command.expiresUnixSeconds) return;
    this.#forgetting = null;
    this.#memory.settle(command.id, expired, uptime);
  }

  #carryOut(command: Command, at: Moment, uptime: number, request: Uint8Array | null): CommandAnswered {
    switch (command.action) {
      case "identify":
        return done;
      case "frame":
        return this.#unit.picture(at, uptime) ? done : refusedBecause("busy");
      case "report":
        this.#unit.report(at, uptime);
        return done;
      case "plan":
        return this.#unit.follows(command.planVersion ?? 0) ? done : refusedBecause("failed");
      case "self-test":
        this.#unit.selfTest(at, uptime, command.id);
        return done;
      case "renew-certificate":
        if (request === null) return refusedBecause("failed");
        this.#writer.write({ kind: "renewal", request, command: command.id }, uptime);
        return done;
      case "forget":
        this.#forgetting = command;
        return accepted;
    }
  }
}
