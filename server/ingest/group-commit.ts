import { setImmediate as nextTurn } from "node:timers/promises";
import type { AppendOutcome, IncomingMessage } from "../store/telemetry-port.ts";

/** `stored`: the commit that holds the message is durable. `failed`: it isn't. `refused`: no room, never tried. */
export type CommitResult = "stored" | "failed" | "refused";

export interface GroupCommitOptions {
  append(batch: readonly IncomingMessage[]): Promise<AppendOutcome>;
  /** After the commit, before anybody is told that their message is stored. */
  committed(outcome: AppendOutcome, batch: readonly IncomingMessage[]): void;
  failed(error: unknown, messages: number): void;
  readonly largestBatch?: number;
  readonly mostWaitingBytes?: number;
}

interface Waiting {
  readonly message: IncomingMessage;
  readonly done: (result: CommitResult) => void;
}

const defaultLargestBatch = 1_000;
/** Each connection stops reading while its messages wait, so honest load stays far below. */
const defaultMostWaitingBytes = 64 * 1024 * 1024;
/** What a waiting message costs beside its payload, roughly. */
const overheadBytes = 512;

/** Gathers messages and stores them together: a commit costs about the same whether it holds one or a hundred.
 *  A commit starts one turn of the event loop after the first message, or when the one before it has ended; whatever
 *  came in meanwhile is in it. So a lone message waits for no timer, and under load the groups grow by themselves. */
export class GroupCommit {
  readonly #options: GroupCommitOptions;
  readonly #largestBatch: number;
  readonly #mostWaitingBytes: number;
  #waiting: Waiting[] = [];
  #waitingBytes = 0;
  #running: Promise<void> | null = null;
  #stopped = false;

  constructor(options: GroupCommitOptions) {
    this.#options = options;
    this.#largestBatch = options.largestBatch ?? defaultLargestBatch;
    this.#mostWaitingBytes = options.mostWaitingBytes ?? defaultMostWaitingBytes;
  }

  get waiting(): number {
    return this.#waiting.length;
  }

  /** @param done called once; with `stored` only after the commit */
  add(message: IncomingMessage, done: (result: CommitResult) => void): void {
    if (this.#stopped || this.#waitingBytes >= this.#mostWaitingBytes) {
      done("refused");
      return;
    }
    this.#waiting.push({ message, done });
    this.#waitingBytes += costOf(message);
    this.#running ??= this.#run();
  }

  /** Takes nothing new, commits what waits, and resolves when everybody has been told. */
  async stop(): Promise<void> {
    this.#stopped = true;
    await this.#running;
  }

  async #run(): Promise<void> {
    await nextTurn();
    while (this.#waiting.length > 0) {
      const group = this.#waiting.splice(0, this.#largestBatch);
      const result = await this.#commit(group.map(({ message }) => message));
      for (const { message, done } of group) {
        this.#waitingBytes -= costOf(message);
        done(result);
      }
      // Lets sockets be read between commits, or the groups would stay small and the readers starve.
      await nextTurn();
    }
    this.#running = null;
  }

  async #commit(batch: readonly IncomingMessage[]): Promise<CommitResult> {
    let outcome: AppendOutcome;
    try {
      outcome = await this.#options.append(batch);
    } catch (error) {
      this.#options.failed(error, batch.length);
      return "failed";
    }
    this.#options.committed(outcome, batch);
    return "stored";
  }
}

const costOf = (message: IncomingMessage): number => message.payload.length + overheadBytes;
