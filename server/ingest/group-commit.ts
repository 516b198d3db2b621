import { setImmediate as nextTurn, setTimeout as wait } from "node:timers/promises";
import type { UnitSerial } from "../domain/ids.ts";
import type { AppendOutcome, IncomingMessage } from "../store/telemetry-port.ts";
import { CommitQueue, type Urgency } from "./commit-queue.ts";

/** `stored`: the commit that holds the message is durable. `failed`: it isn't. `refused`: no room, never tried. */
export type CommitResult = "stored" | "failed" | "refused";

export interface GroupCommitOptions {
  append(batch: readonly IncomingMessage[]): Promise<AppendOutcome>;
  /** After the commit, before anybody is told that their message is stored. */
  committed(outcome: AppendOutcome, batch: readonly IncomingMessage[]): void;
  failed(error: unknown, messages: number): void;
  readonly largestBatch?: number;
  readonly mostWaitingBytes?: number;
  /** How long a commit may wait for company when others came while the one before was running; 0: never. */
  readonly gatheringMilliseconds?: number;
  /** `append` goes on beside the caller: a second group is handed over while the first is being written, so that the
   *  writer needn't wait until everybody of the first has been told. */
  readonly writesBeside?: boolean;
}

interface Waiting {
  readonly unit: UnitSerial;
  readonly urgency: Urgency;
  readonly message: IncomingMessage;
  readonly done: (result: CommitResult) => void;
}

const defaultLargestBatch = 1_000;
/** Fewer than these wait for the group that is being written. */
const worthSecondGroup = 250;
/** Each connection stops reading while its messages wait, so honest load stays far below. */
const defaultMostWaitingBytes = 64 * 1024 * 1024;
/** What a waiting message costs beside its payload, roughly. */
const overheadBytes = 512;

/** Gathers messages and stores them together: a commit costs about the same whether it holds one or a hundred.
 *  A commit starts one turn of the event loop after the first message; while they keep coming, a few milliseconds after
 *  the one before it has ended. Whatever came in meanwhile is in it, live messages first. So a lone message waits for
 *  no timer, and under load the groups grow by themselves. */
export class GroupCommit {
  readonly #options: GroupCommitOptions;
  readonly #largestBatch: number;
  readonly #mostWaitingBytes: number;
  readonly #gatheringMilliseconds: number;
  readonly #queue = new CommitQueue<Waiting>();
  #waitingBytes = 0;
  #running: Promise<void> | null = null;
  #runningBeside: Promise<void> | null = null;
  #stopped = false;

  constructor(options: GroupCommitOptions) {
    this.#options = options;
    this.#largestBatch = options.largestBatch ?? defaultLargestBatch;
    this.#mostWaitingBytes = options.mostWaitingBytes ?? defaultMostWaitingBytes;
    this.#gatheringMilliseconds = options.gatheringMilliseconds ?? 0;
  }

  get waiting(): number {
    return this.#queue.length;
  }

  get waitingBytes(): number {
    return this.#waitingBytes;
  }

  waitingOf(urgency: Urgency): number {
    return urgency === "live" ? this.#queue.live : this.#queue.backlog;
  }

  /** @param done called once; with `stored` only after the commit */
  add(message: IncomingMessage, done: (result: CommitResult) => void, urgency: Urgency = "live"): void {
    if (this.#stopped || this.#waitingBytes >= this.#mostWaitingBytes) {
      done("refused");
      return;
    }
    this.#queue.add({ unit: message.unit, urgency, message, done });
    this.#waitingBytes += costOf(message);
    this.#running ??= this.#run(1, () => {
      this.#running = null;
    });
    if (!this.#options.writesBeside || this.#queue.length < worthSecondGroup) return;
    this.#runningBeside ??= this.#run(worthSecondGroup, () => {
      this.#runningBeside = null;
    });
  }

  /** Takes nothing new, commits what waits, and resolves when everybody has been told. */
  async stop(): Promise<void> {
    this.#stopped = true;
    await Promise.all([this.#running, this.#runningBeside]);
  }

  /** Commits group after group while at least so many wait. */
  async #run(least: number, ended: () => void): Promise<void> {
    await nextTurn();
    while (this.#queue.length >= least) {
      const group = this.#queue.take(this.#largestBatch);
      const result = await this.#commit(group.map(({ message }) => message));
      for (const { message, done } of group) {
        this.#waitingBytes -= costOf(message);
        done(result);
      }
      // Lets sockets be read between commits, or the groups would stay small and the readers starve.
      await nextTurn();
      const isWorthGathering = this.#queue.length > 0 && this.#queue.length < this.#largestBatch;
      if (isWorthGathering && this.#gatheringMilliseconds > 0 && !this.#stopped)
        await wait(this.#gatheringMilliseconds);
    }
    ended();
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
