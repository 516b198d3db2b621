import { type ChildProcess, fork } from "node:child_process";
import { createWriteStream } from "node:fs";
import { fileURLToPath } from "node:url";
import type { Moment } from "../simulated-cushions/wall-clock.ts";
import type { DemoAnswer, DemoCommand, NumberedAnswer, ProgrammeAct, StartRequest } from "./commands.ts";

/** The demonstration's end of the line to the process that runs the real service. */
export class ServerLink {
  readonly #child: ChildProcess;
  readonly #waiting = new Map<
    number,
    { resolve: (answer: DemoAnswer) => void; reject: (error: Error) => void }
  >();
  #next = 0;

  constructor(logPath: string) {
    this.#child = fork(fileURLToPath(new URL("server-process.ts", import.meta.url)), [], {
      // Weeks of records are read within a minute, and next to nothing of them is kept.
      execArgv: [...process.execArgv, "--max-semi-space-size=64"],
    });
    const log = createWriteStream(logPath, { flags: "a" });
    this.#child.stdout?.pipe(log, { end: false });
    this.#child.stderr?.pipe(log, { end: false });
    this.#child.on("message", (message: NumberedAnswer) => this.#answered(message));
    this.#child.on("exit", (code) => {
      for (const { reject } of this.#waiting.values()) {
        reject(new Error(`The service ended by itself (${code}); its last words are in ${logPath}.`));
      }
      this.#waiting.clear();
    });
  }

  start(request: StartRequest): Promise<DemoAnswer> {
    return this.#ask({ kind: "start", request });
  }

  async stopService(): Promise<void> {
    await this.#ask({ kind: "stop" });
  }

  async showTime(at: Moment | null): Promise<void> {
    await this.#ask({ kind: "clock", at });
  }

  async review(health: boolean): Promise<void> {
    await this.#ask({ kind: "review", health });
  }

  play(act: ProgrammeAct): Promise<DemoAnswer> {
    return this.#ask({ kind: "act", act });
  }

  async end(): Promise<void> {
    if (this.#child.exitCode !== null) return;
    const ended = new Promise((resolve) => this.#child.once("exit", resolve));
    if (this.#child.connected) this.#child.disconnect();
    await ended;
  }

  #ask(command: DemoCommand): Promise<DemoAnswer> {
    this.#next += 1;
    const id = this.#next;
    return new Promise((resolve, reject) => {
      this.#waiting.set(id, { resolve, reject });
      this.#child.send({ id, command }, (error) => {
        if (!error) return;
        this.#waiting.delete(id);
        reject(error);
      });
    });
  }

  #answered(message: NumberedAnswer): void {
    const waiting = this.#waiting.get(message.id);
    this.#waiting.delete(message.id);
    if (message.ok) waiting?.resolve(message.answer);
    else waiting?.reject(new Error(message.problem));
  }
}
