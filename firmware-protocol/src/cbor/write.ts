import { numberToHalf, shortestWidth } from "./float.ts";
import {
  type CborFloat,
  type CborItem,
  type CborSimple,
  type CborTagged,
  isCborList,
  isCborMap,
  major,
} from "./item.ts";
import { utf8FromText } from "./utf8.ts";

/** Core deterministic encoding, RFC 8949 section 4.2.1: shortest heads and floats, definite lengths, map keys in the
 *  bytewise order of their encodings. One item has exactly one encoding.
 *  @throws RangeError on an integer outside 64 bits, a number that is no integer (box it as a float), or a key twice */
export function writeCbor(item: CborItem): Uint8Array {
  return encoded(item, 512);
}

function encoded(item: CborItem, room: number): Uint8Array {
  const writer = new Writer(room);
  writer.item(item);
  return writer.finish();
}

/** Keys are nearly always small integers. */
const keyRoom = 8;

class Writer {
  #bytes: Uint8Array;
  #view: DataView;
  #length = 0;

  constructor(room: number) {
    this.#bytes = new Uint8Array(room);
    this.#view = new DataView(this.#bytes.buffer);
  }

  finish(): Uint8Array {
    return this.#bytes.slice(0, this.#length);
  }

  item(item: CborItem): void {
    if (typeof item === "number" || typeof item === "bigint") this.#integer(item);
    else if (typeof item === "string") this.#string(major.text, Uint8Array.from(utf8FromText(item)));
    else if (item === false) this.#byte(0xf4);
    else if (item === true) this.#byte(0xf5);
    else if (item === null) this.#byte(0xf6);
    else if (item === undefined) this.#byte(0xf7);
    else if (item instanceof Uint8Array) this.#string(major.bytes, item);
    else if (isCborList(item)) this.#list(item);
    else if (isCborMap(item)) this.#map(item);
    else this.#boxed(item);
  }

  #boxed(item: CborFloat | CborSimple | CborTagged): void {
    switch (item.kind) {
      case "float":
        this.#float(item.value);
        break;
      case "simple":
        this.#simple(item.number);
        break;
      case "tagged":
        this.#head(major.tag, item.tag);
        this.item(item.item);
        break;
    }
  }

  #integer(value: number | bigint): void {
    if (typeof value === "number" && !Number.isSafeInteger(value))
      throw new RangeError(`cbor: ${value} is not a safe integer`);
    if (value >= 0) this.#head(major.unsigned, value);
    else this.#head(major.negative, typeof value === "bigint" ? -1n - value : -1 - value);
  }

  #string(kind: number, bytes: Uint8Array): void {
    this.#head(kind, bytes.length);
    this.#copy(bytes);
  }

  #list(items: readonly CborItem[]): void {
    this.#head(major.list, items.length);
    for (const item of items) this.item(item);
  }

  #map(map: ReadonlyMap<CborItem, CborItem>): void {
    const keys = unsignedKeys(map);
    if (keys === null) this.#mapOfAnyKeys(map);
    else this.#mapOfUnsigned(map, keys);
  }

  /** Shorter heads come first, so the order of unsigned integers is the order of their encodings; and as numbers none
   *  stands twice in a Map. */
  #mapOfUnsigned(map: ReadonlyMap<CborItem, CborItem>, keys: number[]): void {
    keys.sort((left, right) => left - right);
    this.#head(major.map, keys.length);
    for (const key of keys) {
      this.#integer(key);
      this.item(map.get(key));
    }
  }

  #mapOfAnyKeys(map: ReadonlyMap<CborItem, CborItem>): void {
    const entries = [...map].map(([key, value]) => ({ key: encoded(key, keyRoom), value }));
    entries.sort((left, right) => compareBytes(left.key, right.key));
    this.#head(major.map, entries.length);
    let before: Uint8Array | null = null;
    for (const { key, value } of entries) {
      if (before !== null && compareBytes(before, key) === 0) throw new RangeError("cbor: a map key twice");
      before = key;
      this.#copy(key);
      this.item(value);
    }
  }

  #simple(number: number): void {
    if (!Number.isInteger(number) || number < 0 || number > 255 || (number > 19 && number < 32))
      throw new RangeError(`cbor: ${number} is no simple value`);
    this.#head(major.simple, number);
  }

  #float(value: number): void {
    const width = shortestWidth(value);
    this.#byte(width === 2 ? 0xf9 : width === 4 ? 0xfa : 0xfb);
    this.#room(width);
    if (width === 2) this.#view.setUint16(this.#length, numberToHalf(value) ?? 0);
    else if (width === 4) this.#view.setFloat32(this.#length, value);
    else this.#view.setFloat64(this.#length, value);
    this.#length += width;
  }

  #head(kind: number, argument: number | bigint): void {
    const type = kind << 5;
    if (argument < 24) this.#byte(type | Number(argument));
    else if (argument < 0x100) this.#wideHead(type | 24, 1, argument);
    else if (argument < 0x10000) this.#wideHead(type | 25, 2, argument);
    else if (argument < 0x100000000) this.#wideHead(type | 26, 4, argument);
    else if (argument <= 0xffffffffffffffffn) this.#wideHead(type | 27, 8, argument);
    else throw new RangeError("cbor: an integer outside 64 bits");
  }

  #wideHead(first: number, width: 1 | 2 | 4 | 8, argument: number | bigint): void {
    this.#byte(first);
    this.#room(width);
    if (width === 1) this.#view.setUint8(this.#length, Number(argument));
    else if (width === 2) this.#view.setUint16(this.#length, Number(argument));
    else if (width === 4) this.#view.setUint32(this.#length, Number(argument));
    else this.#view.setBigUint64(this.#length, BigInt(argument));
    this.#length += width;
  }

  #byte(byte: number): void {
    this.#room(1);
    this.#bytes[this.#length++] = byte;
  }

  #copy(bytes: Uint8Array): void {
    this.#room(bytes.length);
    this.#bytes.set(bytes, this.#length);
    this.#length += bytes.length;
  }

  #room(more: number): void {
    const needed = this.#length + more;
    if (needed <= this.#bytes.length) return;
    const larger = new Uint8Array(Math.max(needed, this.#bytes.length * 2));
    larger.set(this.#bytes);
    this.#bytes = larger;
    this.#view = new DataView(larger.buffer);
  }
}

/** The keys, where all are non-negative safe integers; else null. */
function unsignedKeys(map: ReadonlyMap<CborItem, CborItem>): number[] | null {
  const keys: number[] = [];
  for (const key of map.keys()) {
    if (typeof key !== "number" || !Number.isSafeInteger(key) || key < 0) return null;
    keys.push(key);
  }
  return keys;
}

/** Bytewise lexicographic order; a proper prefix comes first. */
export function compareBytes(left: Uint8Array, right: Uint8Array): number {
  const shared = Math.min(left.length, right.length);
  for (let at = 0; at < shared; at++) {
    const difference = (left[at] ?? 0) - (right[at] ?? 0);
    if (difference !== 0) return difference;
  }
  return left.length - right.length;
}
