import { type FloatWidth, halfToNumber, shortestWidth } from "./float.ts";
import { type CborItem, type CborMap, major } from "./item.ts";
import { KeysInOrder, KeysSeen } from "./key-order.ts";
import type { CborReading, CborReadOptions, CborRule } from "./reading.ts";
import { textFromUtf8 } from "./utf8.ts";

/** Reads bytes that hold exactly one item. Never throws, and never allocates more than the bytes can fill. */
export function readCbor(bytes: Uint8Array, options: CborReadOptions): CborReading {
  const reader = new Reader(bytes, options);
  const item = reader.item(0);
  if (item !== failed) {
    if (reader.atEnd) return { kind: "item", item };
    reader.fail("not-well-formed", "bytes follow the item");
  }
  return reader.problem();
}

const failed = Symbol("failed");
type Failed = typeof failed;
const indefinite = 31;
const breakByte = 0xff;

class Reader {
  readonly #bytes: Uint8Array;
  /** Made when first needed: most messages hold neither floats nor integers of 8 bytes. */
  #lazyView: DataView | null = null;
  readonly #options: CborReadOptions;
  #at = 0;
  #info = 0;
  #rule: CborRule = "not-well-formed";
  #reason = "";
  #outermost: CborMap | null = null;

  constructor(bytes: Uint8Array, options: CborReadOptions) {
    // A plain array over the same memory: a Node Buffer's own slice would not copy.
    this.#bytes = new Uint8Array(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    this.#options = options;
  }

  get #view(): DataView {
    const { buffer, byteOffset, byteLength } = this.#bytes;
    this.#lazyView ??= new DataView(buffer, byteOffset, byteLength);
    return this.#lazyView;
  }

  get atEnd(): boolean {
    return this.#at === this.#bytes.length;
  }

  problem(): CborReading {
    return { kind: "problem", rule: this.#rule, reason: this.#reason, partial: this.#outermost };
  }

  fail(rule: CborRule, what: string): Failed {
    this.#rule = rule;
    this.#reason = `byte ${this.#at}: ${what}`;
    return failed;
  }

  item(depth: number): CborItem | Failed {
    const first = this.#bytes[this.#at];
    if (first === undefined) return this.#truncated();
    const kind = first >> 5;
    const argument = this.#head(first, kind);
    if (argument === failed) return failed;
    switch (kind) {
      case major.unsigned:
        return argument;
      case major.negative:
        return typeof argument === "number" && argument < Number.MAX_SAFE_INTEGER
          ? -1 - argument
          : -1n - BigInt(argument);
      case major.bytes:
      case major.text:
        return this.#info === indefinite ? this.#chunks(kind) : this.#string(kind, argument);
      case major.simple:
        return this.#simple(argument);
    }
    if (depth >= this.#options.maximumDepth) return this.fail("too-deep", "nested too deep");
    if (kind === major.list) return this.#list(argument, depth);
    return kind === major.map ? this.#map(argument, depth) : this.#tagged(argument, depth);
  }

  /** Reads initial byte and argument (RFC 8949 section 3); leaves the additional information in `#info`. */
  #head(first: number, kind: number): number | bigint | Failed {
    this.#info = first & 0x1f;
    if (this.#info < 24) {
      this.#at++;
      return this.#info;
    }
    if (this.#info === indefinite) return this.#indefiniteHead(first, kind);
    if (this.#info > 27) return this.fail("not-well-formed", "reserved additional information");
    const width = 1 << (this.#info - 24);
    if (this.#at + width >= this.#bytes.length) return this.#truncated();
    const argument = this.#argument(this.#at + 1, width);
    if (kind !== major.simple && this.#options.deterministic && argument < smallestForWidth(width))
      return this.fail("longer-form", "a number or length in a longer form than it needs");
    this.#at += 1 + width;
    return argument;
  }

  #argument(at: number, width: number): number | bigint {
    const bytes = this.#bytes;
    const first = bytes[at] ?? 0;
    if (width === 1) return first;
    const two = first * 0x100 + (bytes[at + 1] ?? 0);
    if (width === 2) return two;
    if (width === 4) return two * 0x10000 + (bytes[at + 2] ?? 0) * 0x100 + (bytes[at + 3] ?? 0);
    const wide = this.#view.getBigUint64(at);
    return wide <= Number.MAX_SAFE_INTEGER ? Number(wide) : wide;
  }

  #indefiniteHead(first: number, kind: number): number | Failed {
    if (first === breakByte || kind < major.bytes || kind === major.tag)
      return this.fail("not-well-formed", "a break or indefinite length where none may stand");
    if (this.#options.deterministic) return this.fail("indefinite-length", "an indefinite length");
    this.#at++;
    return 0;
  }

  #string(kind: number, length: number | bigint): string | Uint8Array | Failed {
    const from = this.#at;
    if (length > this.#bytes.length - from) return this.#truncated();
    const to = from + Number(length);
    if (kind === major.bytes) {
      this.#at = to;
      return this.#bytes.slice(from, to);
    }
    const text = textFromUtf8(this.#bytes, from, to);
    if (text === null) return this.fail("text-not-utf8", "a text that is not UTF-8");
    this.#at = to;
    return text;
  }

  #chunks(kind: number): string | Uint8Array | Failed {
    const bytes: number[] = [];
    let text = "";
    while (!this.#break()) {
      const first = this.#bytes[this.#at];
      if (first === undefined) return this.#truncated();
      if (first >> 5 !== kind || (first & 0x1f) === indefinite)
        return this.fail("not-well-formed", "a chunk of another kind");
      const length = this.#head(first, kind);
      if (length === failed) return failed;
      const chunk = this.#string(kind, length);
      if (chunk === failed) return failed;
      if (typeof chunk === "string") text += chunk;
      else for (const byte of chunk) bytes.push(byte);
    }
    return kind === major.text ? text : Uint8Array.from(bytes);
  }

  #list(length: number | bigint, depth: number): readonly CborItem[] | Failed {
    const open = this.#info === indefinite;
    if (length > this.#bytes.length - this.#at) return this.#truncated();
    const items: CborItem[] = [];
    while (open ? !this.#break() : items.length < length) {
      const item = this.item(depth + 1);
      if (item === failed) return failed;
      items.push(item);
    }
    return items;
  }

  #map(length: number | bigint, depth: number): CborMap | Failed {
    const open = this.#info === indefinite;
    if (length > (this.#bytes.length - this.#at) / 2) return this.#truncated();
    const map = new Map<CborItem, CborItem>();
    const order = this.#options.deterministic ? new KeysInOrder() : new KeysSeen();
    if (depth === 0) this.#outermost = map;
    while (open ? !this.#break() : map.size < length) {
      const start = this.#at;
      const key = this.item(depth + 1);
      if (key === failed) return failed;
      const wrong = order.next(key, this.#bytes, start, this.#at);
      if (wrong !== null)
        return this.fail(wrong, wrong === "duplicate-key" ? "a key twice" : "keys out of order");
      const value = this.item(depth + 1);
      if (value === failed) return failed;
      map.set(key, value);
    }
    return map;
  }

  #tagged(tag: number | bigint, depth: number): CborItem | Failed {
    const item = this.item(depth + 1);
    return item === failed ? failed : { kind: "tagged", tag, item };
  }

  #simple(argument: number | bigint): CborItem | Failed {
    switch (this.#info) {
      case 20:
        return false;
      case 21:
        return true;
      case 22:
        return null;
      case 23:
        return undefined;
      case 24:
        if (argument < 32) return this.fail("not-well-formed", "a simple value in a longer form than it has");
        return { kind: "simple", number: Number(argument) };
      case 25:
        return this.#float(halfToNumber(Number(argument)), 2);
      case 26:
        return this.#float(this.#view.getFloat32(this.#at - 4), 4);
      case 27:
        return this.#float(this.#view.getFloat64(this.#at - 8), 8);
    }
    return { kind: "simple", number: Number(argument) };
  }

  #float(value: number, width: FloatWidth): CborItem | Failed {
    if (this.#options.deterministic && !this.#isShortest(value, width))
      return this.fail("longer-form", "a float in a longer form than it needs");
    return { kind: "float", value };
  }

  #isShortest(value: number, width: FloatWidth): boolean {
    if (Number.isNaN(value)) return width === 2 && this.#view.getUint16(this.#at - 2) === 0x7e00;
    return shortestWidth(value) === width;
  }

  #break(): boolean {
    if (this.#bytes[this.#at] !== breakByte) return false;
    this.#at++;
    return true;
  }

  #truncated(): Failed {
    return this.fail("not-well-formed", "the bytes end too soon");
  }
}

function smallestForWidth(width: number): number {
  if (width === 1) return 24;
  if (width === 2) return 0x100;
  return width === 4 ? 0x10000 : 0x100000000;
}
