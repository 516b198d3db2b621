import type { Services } from "../services.ts";

const afterMilliseconds = 250;
/** What a page or a message may have to wait for it. */
const atATimeMilliseconds = 15;
/** While messages wait for commits there is a longer pause: a twentieth of the writer's time, and a fifth once there is
 *  so much to do that its index in memory would grow large. */
const pauseUnderLoadMilliseconds = 300;
const pauseWhenBehindMilliseconds = 60;
const farBehind = 500_000;

/** Has the store put what came in into the form it is kept in, a little at a time, in moments when nothing waits for a
 *  commit; under unbroken load all the same, only less often. */
export class Tidying {
  readonly #services: Services;
  readonly #isQuiet: () => boolean;
  #timer: NodeJS.Timeout | null = null;
  #running: Promise<void> = Promise.resolve();
  #stopped = false;
  /** Messages stored since there was last nothing more to do. */
  #toDo = 0;

  constructor(services: Services, isQuiet: () => boolean) {
    this.#services = services;
    this.#isQuiet = isQuiet;
  }

  /** So many were stored: there may be something to do. */
  stored(messages: number): void {
    this.#toDo += messages;
    this.#later(afterMilliseconds);
  }

  async stop(): Promise<void> {
    this.#stopped = true;
    if (this.#timer !== null) clearTimeout(this.#timer);
    await this.#running;
  }

  #later(milliseconds: number): void {
    if (this.#stopped || this.#timer !== null) return;
    this.#timer = setTimeout(() => {
      this.#running = this.#work();
    }, milliseconds).unref();
  }

  async #work(): Promise<void> {
    const { telemetry, clock, log } = this.#services;
    let isMore = false;
    try {
      isMore = await telemetry.tidy(clock.now(), atATimeMilliseconds);
    } catch (error) {
      log.error({ err: error }, "telemetry could not be packed; it stays as it came");
    }
    this.#timer = null;
    if (isMore) this.#later(this.#pause());
    else this.#toDo = 0;
  }

  #pause(): number {
    if (this.#isQuiet()) return atATimeMilliseconds;
    return this.#toDo > farBehind ? pauseWhenBehindMilliseconds : pauseUnderLoadMilliseconds;
  }
}
