/** Arrays of numbers behind each other, so that reading them copies nothing: each is a view of the bytes they came in.
 *
 *  | bytes | |
 *  | --- | --- |
 *  | 4 | how many arrays |
 *  | 4 each | length of each, in bytes |
 *  | rest | the arrays in that order, each from a multiple of eight on |
 *
 *  In the byte order of the machine: they are kept by and for the same installation. What is read back must be asked for
 *  in the order and as the kind in which it was written. */
export function arrayBytes(arrays: readonly ArrayBufferView[]): Buffer {
  const places = placesOf(arrays.map(({ byteLength }) => byteLength));
  const bytes = Buffer.alloc(places.at(-1)?.end ?? headOf(0));
  const head = new Uint32Array(bytes.buffer, bytes.byteOffset, 1 + arrays.length);
  head[0] = arrays.length;
  arrays.forEach(({ buffer, byteOffset, byteLength }, index) => {
    head[1 + index] = byteLength;
    bytes.set(new Uint8Array(buffer, byteOffset, byteLength), places[index]?.start);
  });
  return bytes;
}

/** Rows of the same length behind each other. */
export const joined = (rows: readonly ArrayBufferView[]): Uint8Array =>
  Buffer.concat(
    rows.map(({ buffer, byteOffset, byteLength }) => new Uint8Array(buffer, byteOffset, byteLength)),
  );

/** Any of so many rows that were joined. */
export function rowsOf<
  Numbers extends { readonly length: number; subarray(from: number, to: number): Numbers },
>(numbers: Numbers, rows: number): (row: number) => Numbers {
  const width = numbers.length / Math.max(1, rows);
  return (row) => numbers.subarray(row * width, (row + 1) * width);
}

const aligned = (place: number): number => (place + 7) & ~7;
const headOf = (arrays: number): number => aligned(4 + 4 * arrays);

function placesOf(lengths: readonly number[]): { readonly start: number; readonly end: number }[] {
  let next = headOf(lengths.length);
  return lengths.map((length) => {
    const start = next;
    next = aligned(start + length);
    return { start, end: next };
  });
}

export class ArrayReader {
  readonly #buffer: ArrayBufferLike;
  readonly #begin: number;
  readonly #head: Uint32Array;
  #read = 0;
  #next: number;

  constructor(bytes: Uint8Array) {
    // A view of doubles begins at a multiple of eight.
    const whole = bytes.byteOffset % 8 === 0 ? bytes : Uint8Array.from(bytes);
    this.#buffer = whole.buffer;
    this.#begin = whole.byteOffset;
    const [arrays = 0] = new Uint32Array(this.#buffer, this.#begin, 1);
    this.#head = new Uint32Array(this.#buffer, this.#begin + 4, arrays);
    this.#next = headOf(arrays);
  }

  float64 = (): Float64Array => {
    const { place, length } = this.#take();
    return new Float64Array(this.#buffer, place, length / 8);
  };

  float32 = (): Float32Array => {
    const { place, length } = this.#take();
    return new Float32Array(this.#buffer, place, length / 4);
  };

  int16 = (): Int16Array => {
    const { place, length } = this.#take();
    return new Int16Array(this.#buffer, place, length / 2);
  };

  uint16 = (): Uint16Array => {
    const { place, length } = this.#take();
    return new Uint16Array(this.#buffer, place, length / 2);
  };

  uint8 = (): Uint8Array => {
    const { place, length } = this.#take();
    return new Uint8Array(this.#buffer, place, length);
  };

  #take(): { readonly place: number; readonly length: number } {
    const length = this.#head[this.#read++];
    if (length === undefined) throw new RangeError("more arrays are asked for than were kept");
    const place = this.#begin + this.#next;
    this.#next = aligned(this.#next + length);
    return { place, length };
  }
}
