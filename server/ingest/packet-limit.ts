import type { Duplex } from "node:stream";

/** Follows the framing of an MQTT byte stream (MQTT 3.1.1 section 2.2: one byte, then a remaining length of one to
 *  four bytes) without keeping any of it, to tell a packet that is too large before it has been gathered in memory. */
export class PacketLimit {
  readonly #largest: number;
  #bodyLeft = 0;
  #lengthShift = -1;
  #length = 0;

  /** @param largest remaining length allowed */
  constructor(largest: number) {
    this.#largest = largest;
  }

  /** @returns false as soon as a packet announces more than is allowed, or its length breaks the standard */
  accepts(chunk: Uint8Array): boolean {
    let at = 0;
    while (at < chunk.length) {
      if (this.#bodyLeft > 0) {
        const skipped = Math.min(this.#bodyLeft, chunk.length - at);
        this.#bodyLeft -= skipped;
        at += skipped;
      } else if (!this.#header(chunk[at++] ?? 0)) return false;
    }
    return true;
  }

  #header(byte: number): boolean {
    if (this.#lengthShift < 0) {
      this.#lengthShift = 0;
      this.#length = 0;
      return true;
    }
    this.#length += (byte & 0x7f) * 2 ** this.#lengthShift;
    this.#lengthShift += 7;
    if (this.#length > this.#largest || (byte & 0x80 && this.#lengthShift > 21)) return false;
    if (byte & 0x80) return true;
    this.#lengthShift = -1;
    this.#bodyLeft = this.#length;
    return true;
  }
}

/** Cuts a connection off at the first packet that is too large. The broker library has no such limit: it would gather
 *  up to 256 MB. It pulls its input with `read()`, so that is where the bytes are looked at. */
export function limitPackets(stream: Duplex, largest: number, tooLarge: () => void): void {
  const limit = new PacketLimit(largest);
  const read = stream.read.bind(stream);
  stream.read = (size?: number): unknown => {
    const chunk: unknown = read(size);
    if (!(chunk instanceof Uint8Array) || limit.accepts(chunk)) return chunk;
    tooLarge();
    stream.destroy();
    return null;
  };
}
