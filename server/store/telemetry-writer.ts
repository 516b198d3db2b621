import { Worker } from "node:worker_threads";
import type { WriterAnswer, WriterRequest } from "./telemetry-thread-wire.ts";

/** The thread that writes, asked one thing at a time. */
export interface Writer {
  /** @throws when the thread ends before it has answered: nothing is known of what was asked */
  ask(request: WriterRequest, handedOver?: readonly ArrayBuffer[]): Promise<WriterAnswer>;
  /** Commits what it was asked to, and ends. */
  close(): Promise<void>;
}

export interface WriterOptions {
  /** A thread has ended that nobody closed; the next question starts another. */
  readonly died?: (why: Error) => void;
  readonly startThread?: () => Worker;
}

/** Less than the default of 48: a batch is small, and what isn't used for it is there for connections. */
const resourceLimits = { maxYoungGenerationSizeMb: 24 };

/** Starts the thread, and starts it again when it is asked after it has died: what it hadn't told of as stored, the
 *  units still have. */
export async function startWriter(dataFolder: string, options: WriterOptions): Promise<Writer> {
  const startThread =
    options.startThread ??
    (() =>
      new Worker(new URL("./telemetry-writer-thread.mjs", import.meta.url), {
        workerData: dataFolder,
        resourceLimits,
      }));
  let isClosed = false;
  const died = (why: Error): void => {
    if (!isClosed) options.died?.(why);
  };
  let life = new WriterLife(startThread(), died);
  await life.ready;
  const ask: Writer["ask"] = async (request, handedOver) => {
    if (life.isOver && !isClosed) life = new WriterLife(startThread(), died);
    return life.ask(request, handedOver);
  };
  return {
    ask,
    close: async () => {
      isClosed = true;
      if (!life.isOver) await life.ask({ ask: "close" });
      await life.ended;
    },
  };
}

interface Waiting {
  resolve(answer: WriterAnswer): void;
  reject(error: Error): void;
}

const started = 0;

/** One thread, from its start to its end. */
class WriterLife {
  readonly #worker: Worker;
  readonly #waiting = new Map<number, Waiting>();
  readonly ready: Promise<unknown>;
  readonly ended: Promise<void>;
  #next = started + 1;
  #over: Error | null = null;

  constructor(worker: Worker, died: (why: Error) => void) {
    this.#worker = worker;
    this.ready = new Promise((resolve, reject) => this.#waiting.set(started, { resolve, reject }));
    // Whoever waits for it learns why; nobody need wait for it.
    this.ready.catch(() => {});
    this.ended = new Promise((resolve) => {
      worker.once("exit", () => {
        this.#fail(new Error("the telemetry writer has ended"));
        died(this.#over ?? new Error("unknown"));
        resolve();
      });
    });
    worker.on("error", (error: Error) => this.#fail(error));
    worker.on("message", ({ number, answer }: { number: number; answer: WriterAnswer }) => {
      this.#waiting.get(number)?.resolve(answer);
      this.#waiting.delete(number);
    });
  }

  get isOver(): boolean {
    return this.#over !== null;
  }

  ask(request: WriterRequest, handedOver: readonly ArrayBuffer[] = []): Promise<WriterAnswer> {
    return new Promise((resolve, reject) => {
      if (this.#over !== null) {
        reject(this.#over);
        return;
      }
      const number = this.#next++;
      this.#waiting.set(number, { resolve, reject });
      this.#worker.postMessage({ number, request }, handedOver);
    });
  }

  #fail(why: Error): void {
    this.#over ??= why;
    for (const { reject } of this.#waiting.values()) reject(this.#over);
    this.#waiting.clear();
  }
}
