import type { BreakOffReason, Envelope, Relief } from "../../firmware-protocol/src/messages.ts";
import type { MessageWriter } from "./message-writer.ts";
import type { PromptWatch } from "./prompt-watch.ts";

type ReliefTold = Omit<Relief, keyof Envelope>;

/** Told once it is over. */
interface Unfinished extends ReliefTold {
  readonly endUptime: number;
}

/** The reliefs under way, and how each came to its end. */
export class ReliefWatch {
  readonly #writer: MessageWriter;
  readonly #prompts: PromptWatch;
  #unfinished: Unfinished[] = [];

  constructor(writer: MessageWriter, prompts: PromptWatch) {
    this.#writer = writer;
    this.#prompts = prompts;
  }

  boot(): void {
    this.#unfinished = [];
  }

  get underWay(): readonly number[] {
    return this.#unfinished.map(({ startUptimeSeconds }) => startUptimeSeconds);
  }

  begin(relief: ReliefTold): void {
    this.#unfinished.push({ ...relief, endUptime: relief.startUptimeSeconds + relief.holdSeconds });
  }

  /** Tells those that are over by `now`.
   *  @returns when the last complete one ended; null: none did */
  finish(now: number, loaded: boolean): number | null {
    const still: Unfinished[] = [];
    let offloaded: number | null = null;
    for (const relief of this.#unfinished) {
      if (relief.endUptime > now) {
        still.push(relief);
        continue;
      }
      const { endUptime, ...body } = relief;
      this.#tell(body.complete ? body : brokenOff(body, loaded ? "sat-back" : "got-up"), now);
      if (relief.complete) offloaded = endUptime;
    }
    this.#unfinished = still;
    return offloaded;
  }

  powerLost(uptime: number): void {
    for (const { endUptime: _, ...relief } of this.#unfinished)
      this.#tell(
        { ...brokenOff(relief, "power-lost"), holdSeconds: uptime - relief.startUptimeSeconds },
        uptime,
      );
    this.#unfinished = [];
  }

  #tell(relief: ReliefTold, uptime: number): void {
    const sequence = this.#writer.write(relief, uptime);
    this.#prompts.relieved(relief.startUptimeSeconds, sequence, uptime);
  }
}

const brokenOff = (relief: ReliefTold, why: BreakOffReason): ReliefTold => ({
  ...relief,
  complete: false,
  brokenOff: why,
});
