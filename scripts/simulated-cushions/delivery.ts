import type { DownlinkMessage } from "../../firmware-protocol/src/messages.ts";
import { CushionConnection } from "./connection.ts";
import type { SimulatedCushion } from "./cushion.ts";
import type { Enrolled } from "./enrol.ts";
import type { Moment } from "./wall-clock.ts";

export interface DeliveryReport {
  readonly sent: number;
  /** Still waiting for a receipt. */
  readonly waiting: number;
  /** null: the broker was there. */
  readonly problem: string | null;
}

/** A cushion's post: connects when there is something to send and a way to send it, publishes what waits in the store,
 *  and lets the store forget on receipts only. */
export class Delivery {
  readonly cushion: SimulatedCushion;
  readonly #enrolled: Enrolled;
  #connection: CushionConnection | null = null;
  #now: Moment = 0;
  #woken: (() => void) | null = null;

  constructor(cushion: SimulatedCushion, enrolled: Enrolled) {
    this.cushion = cushion;
    this.#enrolled = enrolled;
  }

  /** Sends all that waits and stays until every message has its receipt, or until `patienceSeconds` have gone.
   *  What isn't receipted stays in the store, and is sent again next time. */
  async deliver(at: Moment, patienceSeconds: number): Promise<DeliveryReport> {
    this.#now = at;
    const waiting = [...this.cushion.store.messages];
    if (waiting.length === 0 || !this.cushion.mayDeliver(at)) {
      return { sent: 0, waiting: waiting.length, problem: null };
    }
    try {
      const connection = await this.#openConnection();
      const receipted = this.#untilForgotten(patienceSeconds);
      await Promise.all(waiting.map((message) => connection.publish(message)));
      await receipted;
      return { sent: waiting.length, waiting: this.cushion.store.length, problem: null };
    } catch (problem) {
      this.#woken?.();
      await this.hangUp();
      return { sent: 0, waiting: this.cushion.store.length, problem: String(problem) };
    }
  }

  /** Opens the session without anything to send, as a unit in reach does: it then also hears a changed plan. */
  async connect(at: Moment): Promise<void> {
    this.#now = at;
    await this.#openConnection();
  }

  async hangUp(): Promise<void> {
    const connection = this.#connection;
    this.#connection = null;
    await connection?.close().catch(() => undefined);
  }

  async #openConnection(): Promise<CushionConnection> {
    if (this.#connection?.isOpen) return this.#connection;
    await this.hangUp();
    const connection = await CushionConnection.open(this.#enrolled, {
      connectSeconds: 5,
      onMessage: (message) => this.#receive(message),
    });
    connection.onClosed(() => this.#woken?.());
    this.#connection = connection;
    return connection;
  }

  #receive(message: DownlinkMessage): void {
    this.cushion.receive(message, this.#now);
    if (this.cushion.store.length === 0) this.#woken?.();
  }

  #untilForgotten(patienceSeconds: number): Promise<void> {
    return new Promise((resolve) => {
      const timer = setTimeout(resolve, patienceSeconds * 1_000);
      this.#woken = () => {
        clearTimeout(timer);
        this.#woken = null;
        resolve();
      };
    });
  }
}
