/** Whole numbers of any sign in as few bytes as they need: small ones, as differences mostly are, in one. Zigzag, then
 *  seven bits a byte, lowest first. Arithmetic and not bit operators, so that instants (beyond 32 bits) fit. */
export class VarintWriter {
  #bytes = new Uint8Array(1_024);
  #length = 0;

  /** @param value a safe integer */
  add(value: number): void {
    if (this.#length + 10 > this.#bytes.length) this.#grow(10);
    let left = value < 0 ? -2 * value - 1 : 2 * value;
    while (left >= 128) {
      this.#bytes[this.#length++] = (left % 128) + 128;
      left = Math.floor(left / 128);
    }
    this.#bytes[this.#length++] = left;
  }

  addBytes(bytes: Uint8Array): void {
    if (this.#length + bytes.length > this.#bytes.length) this.#grow(bytes.length);
    this.#bytes.set(bytes, this.#length);
    this.#length += bytes.length;
  }

  written(): Uint8Array {
    return this.#bytes.subarray(0, this.#length);
  }

  #grow(by: number): void {
    const larger = new Uint8Array(2 * this.#bytes.length + by);
    larger.set(this.#bytes);
    this.#bytes = larger;
  }
}

export class VarintReader {
  readonly #bytes: Uint8Array;
  #at: number;

  constructor(bytes: Uint8Array, at = 0) {
    this.#bytes = bytes;
    this.#at = at;
  }

  /** Another that goes on from here. */
  fork(): VarintReader {
    return new VarintReader(this.#bytes, this.#at);
  }

  /** @throws RangeError when the bytes have ended */
  skip(count: number): void {
    const bytes = this.#bytes;
    let at = this.#at;
    for (let left = count; left > 0; ) {
      const byte = bytes[at++];
      if (byte === undefined) throw new RangeError("a packed block ends too early");
      if (byte < 128) left -= 1;
    }
    this.#at = at;
  }

  /** @throws RangeError when the bytes have ended */
  next(): number {
    const first = this.#byte();
    if (first < 128) return first & 1 ? -(first + 1) / 2 : first / 2;
    let value = first - 128;
    let scale = 128;
    for (;;) {
      const byte = this.#byte();
      if (byte < 128) {
        value += byte * scale;
        return value % 2 === 1 ? -(value + 1) / 2 : value / 2;
      }
      value += (byte - 128) * scale;
      scale *= 128;
    }
  }

  /** Fills `into` with values written as differences, each from the one before. A month has some three hundred thousand
   *  of them, nearly all of one byte: that case is kept short.
   *  @throws RangeError when the bytes have ended */
  nextSteps<Into extends Float64Array | Int32Array>(into: Into): Into {
    const bytes = this.#bytes;
    let at = this.#at;
    let value = 0;
    for (let index = 0; index < into.length; index++) {
      const byte = bytes[at];
      if (byte !== undefined && byte < 128) {
        at += 1;
        value += (byte >>> 1) ^ -(byte & 1);
      } else {
        this.#at = at;
        value += this.next();
        at = this.#at;
      }
      into[index] = value;
    }
    this.#at = at;
    return into;
  }

  nextBytes(length: number): Uint8Array {
    const bytes = this.#bytes.subarray(this.#at, this.#at + length);
    if (bytes.length !== length) throw new RangeError("a packed block ends too early");
    this.#at += length;
    return bytes;
  }

  #byte(): number {
    const byte = this.#bytes[this.#at++];
    if (byte === undefined) throw new RangeError("a packed block ends too early");
    return byte;
  }
}
