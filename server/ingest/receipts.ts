import type { Receipt } from "../../firmware-protocol/src/downlink.ts";
import { maximumBootsPerReceipt } from "../../firmware-protocol/src/limits.ts";
import type { Clock } from "../clock.ts";
import type { StoredUpTo } from "../store/telemetry-port.ts";

/** Sends a unit its receipts, one at a time: while one is being written to a slow connection, later ones join into the
 *  next, since each boot's newest says all that the earlier ones did. */
export class ReceiptSender {
  readonly #clock: Clock;
  readonly #send: (receipt: Receipt, sent: () => void) => void;
  readonly #due = new Map<number, StoredUpTo>();
  #sending = false;

  /** @param send calls back when the receipt has been written, or can't be any more */
  constructor(clock: Clock, send: (receipt: Receipt, sent: () => void) => void) {
    this.#clock = clock;
    this.#send = send;
  }

  /** Call after the commit only. */
  stored(boots: readonly StoredUpTo[]): void {
    for (const upTo of boots) this.#due.set(upTo.boot, upTo);
    this.#next();
  }

  #next(): void {
    if (this.#sending || this.#due.size === 0) return;
    this.#sending = true;
    const stored = [...this.#due.values()].sort((a, b) => a.boot - b.boot).slice(0, maximumBootsPerReceipt);
    for (const { boot } of stored) this.#due.delete(boot);
    const serverUnixSeconds = Math.floor(this.#clock.now() / 1_000);
    this.#send({ kind: "receipt", stored, serverUnixSeconds }, () => {
      this.#sending = false;
      this.#next();
    });
  }
}
