import type { CborItem } from "./item.ts";
import { writeCbor } from "./write.ts";

/** Deterministic maps: every key after the one before, so that a key twice can't hide. Compared where they stand. */
export class KeysInOrder {
  #from = 0;
  #to = 0;

  next(_key: CborItem, bytes: Uint8Array, from: number, to: number): "duplicate-key" | "key-order" | null {
    const order = this.#to === 0 ? -1 : compareWithin(bytes, this.#from, this.#to, from, to);
    this.#from = from;
    this.#to = to;
    if (order === 0) return "duplicate-key";
    return order > 0 ? "key-order" : null;
  }
}

/** As `compareBytes`, of two stretches of the same bytes. */
function compareWithin(
  bytes: Uint8Array,
  leftFrom: number,
  leftTo: number,
  rightFrom: number,
  rightTo: number,
): number {
  const shared = Math.min(leftTo - leftFrom, rightTo - rightFrom);
  for (let at = 0; at < shared; at++) {
    const difference = (bytes[leftFrom + at] ?? 0) - (bytes[rightFrom + at] ?? 0);
    if (difference !== 0) return difference;
  }
  return leftTo - leftFrom - (rightTo - rightFrom);
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
