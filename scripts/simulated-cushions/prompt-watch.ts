import type { MessageWriter } from "./message-writer.ts";

/** What came of a prompt is told at the relief, or when five minutes have gone (SPEC, "prompt"). */
const waitsForSeconds = 300;

/** Waits for what comes of each prompt, and tells it. */
export class PromptWatch {
  readonly #writer: MessageWriter;
  #waiting: { readonly givenUptime: number; readonly planVersion: number } | null = null;

  constructor(writer: MessageWriter) {
    this.#writer = writer;
  }

  /** What was waited for is not known any more, and not told. */
  boot(): void {
    this.#waiting = null;
  }

  given(uptime: number, planVersion: number): void {
    if (this.#waiting !== null) this.#tell(null, uptime);
    this.#waiting = { givenUptime: uptime, planVersion };
  }

  /** A relief was told of; it is the prompt's where it began within the five minutes. */
  relieved(startUptime: number, sequence: number, uptime: number): void {
    if (this.#isAnswered(startUptime)) this.#tell(sequence, uptime);
  }

  /** @param underWay starts of reliefs that aren't over yet */
  minute(uptime: number, underWay: readonly number[]): void {
    if (this.#waiting === null || uptime - this.#waiting.givenUptime < waitsForSeconds) return;
    if (!underWay.some((start) => this.#isAnswered(start))) this.#tell(null, uptime);
  }

  #isAnswered(startUptime: number): boolean {
    if (this.#waiting === null) return false;
    const after = startUptime - this.#waiting.givenUptime;
    return after >= 0 && after <= waitsForSeconds;
  }

  #tell(followedBySequence: number | null, uptime: number): void {
    if (this.#waiting === null) return;
    const { givenUptime, planVersion } = this.#waiting;
    this.#waiting = null;
    this.#writer.write(
      { kind: "prompt", givenUptimeSeconds: givenUptime, planVersion, followedBySequence },
      uptime,
    );
  }
}
