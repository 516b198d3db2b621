import type { UnitSerial } from "../domain/ids.ts";

export const bootKey = (unit: UnitSerial, boot: number): string => `${unit} ${boot}`;

/** A limited number of values by name; the ones unused for longest go first. */
export class Remembered<Value> {
  readonly #most: number;
  /** Two generations: moving an entry costs only where it was not used since the last turn. */
  #young = new Map<string, Value>();
  #old = new Map<string, Value>();

  /** @param most about how many; never more than twice that */
  constructor(most: number) {
    this.#most = most;
  }

  get(key: string): Value | undefined {
    const young = this.#young.get(key);
    if (young !== undefined) return young;
    const old = this.#old.get(key);
    if (old !== undefined) this.set(key, old);
    return old;
  }

  set(key: string, value: Value): void {
    if (this.#young.size >= this.#most) {
      this.#old = this.#young;
      this.#young = new Map();
    }
    this.#young.set(key, value);
  }

  clear(): void {
    this.#young.clear();
    this.#old.clear();
  }
}
