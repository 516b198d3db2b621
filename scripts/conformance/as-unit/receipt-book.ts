import type { Receipt } from "../../../firmware-protocol/src/downlink.ts";
import type { Findings } from "../findings.ts";

/** What was sent, and what receipts say of it. Each receipt is held against what had been sent when it came. */
export class ReceiptBook {
  readonly #boot: number;
  readonly #findings: Findings;
  readonly #sent = new Set<number>();
  readonly #neverReadable = new Set<number>();
  #latest: Receipt["stored"][number] | null = null;
  #receipts = 0;

  constructor(boot: number, findings: Findings) {
    this.#boot = boot;
    this.#findings = findings;
  }

  get latest(): Receipt["stored"][number] | null {
    return this.#latest;
  }
  get count(): number {
    return this.#receipts;
  }

  published(sequence: number): void {
    this.#sent.add(sequence);
  }

  /** It was published, but in bytes from which nobody can tell which message it is. */
  publishedUnreadable(sequence: number): void {
    this.#neverReadable.add(sequence);
  }

  take(receipt: Receipt): void {
    this.#receipts += 1;
    const stored = receipt.stored.find(({ boot }) => boot === this.#boot);
    if (stored === undefined) return;
    this.#latest = stored;
    for (let sequence = 0; sequence <= Math.min(stored.through, this.#highest() + 8); sequence++) {
      if (!covers(stored, sequence) || this.#sent.has(sequence)) continue;
      const what = this.#neverReadable.has(sequence)
        ? "could not be read from what was sent"
        : "was not sent yet";
      this.#findings.broken("FP-7.2", `a receipt said that sequence ${sequence} is stored, which ${what}`);
      this.#findings.broken("FP-6.6", `a receipt covered sequence ${sequence}, which ${what}`);
    }
  }

  covers(sequence: number): boolean {
    return this.#latest !== null && covers(this.#latest, sequence);
  }

  #highest(): number {
    return Math.max(-1, ...this.#sent, ...this.#neverReadable);
  }
}

const covers = ({ through, holes }: Receipt["stored"][number], sequence: number): boolean =>
  sequence <= through && !holes.some(([from, to]) => from <= sequence && sequence <= to);
