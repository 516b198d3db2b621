import type { Duplex } from "node:stream";

/** Why a stream is cut off: `too-large` also stands for a length that breaks the standard. */
export type PacketRefusal = "too-large" | "unknown-level" | "no-filter";

const connect = 1;
const unsubscribe = 10;
/** Of an UNSUBSCRIBE that has its packet identifier and nothing else. */
const identifierBytes = 2;
/** MQTT 3.1, 3.1.1 and 5: what the broker library reads. */
const knownLevels: ReadonlySet<number> = new Set([3, 4, 5]);

/** Follows the framing of an MQTT byte stream (MQTT 3.1.1 section 2.2: one byte, then a remaining length of one to
 *  four bytes) without keeping any of it, to tell what the broker library would gather, or let pass, and must not. */
export class PacketLimit {
  readonly #largest: number;
  #type = 0;
  #bodyLeft = 0;
  #lengthShift = -1;
  #length = 0;
  /** Where in the body of a CONNECT the protocol level is: after the name, whose length its first two bytes are. */
  #levelAt = 0;

  /** @param largest remaining length allowed */
  constructor(largest: number) {
    this.#largest = largest;
  }

  /** @returns null while all is well; after a refusal it must not be asked again */
  refusalOf(chunk: Uint8Array): PacketRefusal | null {
    let at = 0;
    while (at < chunk.length) {
      const isBody = this.#bodyLeft > 0;
      if (isBody && this.#type !== connect) {
        const skipped = Math.min(this.#bodyLeft, chunk.length - at);
        this.#bodyLeft -= skipped;
        at += skipped;
        continue;
      }
      const byte = chunk[at++] ?? 0;
      const refusal = isBody ? this.#connectByte(byte) : this.#header(byte);
      if (refusal !== null) return refusal;
    }
    return null;
  }

  #header(byte: number): PacketRefusal | null {
    if (this.#lengthShift < 0) {
      this.#type = byte >> 4;
      this.#lengthShift = 0;
      this.#length = 0;
      return null;
    }
    this.#length += (byte & 0x7f) * 2 ** this.#lengthShift;
    this.#lengthShift += 7;
    if (this.#length > this.#largest || (byte & 0x80 && this.#lengthShift > 21)) return "too-large";
    if (byte & 0x80) return null;
    this.#lengthShift = -1;
    this.#bodyLeft = this.#length;
    this.#levelAt = 2;
    return this.#type === unsubscribe && this.#length <= identifierBytes ? "no-filter" : null;
  }

  #connectByte(byte: number): PacketRefusal | null {
    const place = this.#length - this.#bodyLeft;
    this.#bodyLeft -= 1;
    if (place === 0) this.#levelAt += byte * 256;
    if (place === 1) this.#levelAt += byte;
    return place > 1 && place === this.#levelAt && !knownLevels.has(byte) ? "unknown-level" : null;
  }
}

/** CONNACK with return code 1, unacceptable protocol level [MQTT-3.1.2-2]. */
const unacceptableLevel = Uint8Array.of(0x20, 2, 0, 1);

/** Cuts a connection off at the first packet that is too large (the broker library has no such limit: it would gather up
 *  to 256 MB), that asks for an unknown version of MQTT, or that unsubscribes from nothing [MQTT-3.10.3-2]. The library
 *  pulls its input with `read()`, so that is where the bytes are looked at. */
export function limitPackets(
  stream: Duplex,
  largest: number,
  refused: (refusal: PacketRefusal) => void,
): void {
  const limit = new PacketLimit(largest);
  const read = stream.read.bind(stream);
  let over = false;
  stream.read = (size?: number): unknown => {
    const chunk: unknown = read(size);
    if (over) return null;
    if (!(chunk instanceof Uint8Array)) return chunk;
    const refusal = limit.refusalOf(chunk);
    if (refusal === null) return chunk;
    over = true;
    refused(refusal);
    if (refusal === "unknown-level") stream.end(unacceptableLevel, () => stream.destroy());
    else stream.destroy();
    return null;
  };
}
