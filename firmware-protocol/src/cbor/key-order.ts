import type { CborItem } from "./item.ts";
import { compareBytes, writeCbor } from "./write.ts";

/** Deterministic maps: every key after the one before, so that a key twice can't hide. */
export class KeysInOrder {
  #before: Uint8Array | null = null;

  next(_key: CborItem, bytes: Uint8Array, from: number, to: number): "duplicate-key" | "key-order" | null {
    const key = bytes.subarray(from, to);
    const order = this.#before === null ? -1 : compareBytes(this.#before, key);
    this.#before = key;
    if (order === 0) return "duplicate-key";
    return order > 0 ? "key-order" : null;
  }
}

/** Any order, so every key is remembered by its one deterministic encoding. */
export class KeysSeen {
  readonly #seen = new Set<string>();

  next(key: CborItem): "duplicate-key" | null {
    const name = writeCbor(key).join(" ");
    if (this.#seen.has(name)) return "duplicate-key";
    this.#seen.add(name);
    return null;
  }
}
