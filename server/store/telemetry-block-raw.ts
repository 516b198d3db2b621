import type { UplinkKind } from "../../firmware-protocol/src/messages.ts";
import { peekKind } from "../../firmware-protocol/src/peek-kind.ts";

/** What the bytes hold, as far as it helps to leave them unread until somebody asks. `event`: what a unit tells of
 *  itself that no ledger asks for. `other`: everything else, and events of blocks packed before they had a word. */
export type Holds = "relief" | "frame" | "other" | "event";
const holdsCodes: readonly Holds[] = ["other", "relief", "frame", "event"];
export const holdsCode = (holds: Holds): number => holdsCodes.indexOf(holds);

interface Sorted {
  readonly byKind: ReadonlyMap<UplinkKind, readonly number[]>;
  readonly unsure: readonly number[];
}

/** A block's messages that are kept as bytes, in the order of sequence: looked through by kind without an object for
 *  each, for a year of them is asked for its reliefs and its prompts alone. */
export class RawMessages {
  /** Place of each among all messages of the block. */
  readonly places: Int32Array;
  readonly #bytes: Uint8Array;
  readonly #holds: Uint8Array;
  /** Where each begins, and where the last ends. */
  readonly #starts: Int32Array;
  #known: Sorted | null = null;

  /** @param minutes of each message of the block: 0 kept as bytes */
  constructor(minutes: Float64Array, holds: Uint8Array, starts: Int32Array, bytes: Uint8Array) {
    this.#bytes = bytes;
    this.#holds = holds;
    this.#starts = starts;
    this.places = new Int32Array(holds.length);
    let next = 0;
    for (let place = 0; place < minutes.length; place++)
      if (minutes[place] === 0) this.places[next++] = place;
  }

  /** @returns undefined where there is none of that number */
  at(number: number): { readonly holds: Holds; readonly payload: Uint8Array } | undefined {
    const holds = holdsCodes[this.#holds[number] ?? 0];
    const end = this.#starts[number + 1];
    if (holds === undefined || end === undefined) return undefined;
    return { holds, payload: this.#bytes.subarray(this.#starts[number], end) };
  }

  /** The numbers of those that are of a kind, or may be: only decoding them will tell. */
  ofKind(kind: UplinkKind): { readonly sure: readonly number[]; readonly unsure: readonly number[] } {
    const { byKind, unsure } = this.#sorted();
    return { sure: byKind.get(kind) ?? [], unsure };
  }

  /** Looked through once, however many kinds are asked for. */
  #sorted(): Sorted {
    if (this.#known !== null) return this.#known;
    const byKind = new Map<UplinkKind, number[]>();
    const unsure: number[] = [];
    for (let number = 0; number < this.places.length; number++) {
      const kind = peekKind(this.#bytes, this.#starts[number]);
      const list = kind === null ? unsure : byKind.get(kind);
      if (list !== undefined) list.push(number);
      else if (kind !== null) byKind.set(kind, [number]);
    }
    this.#known = { byKind, unsure };
    return this.#known;
  }
}
