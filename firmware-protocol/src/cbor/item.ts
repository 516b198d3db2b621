/** What a CBOR data item (RFC 8949) is in this package. An integer within the safe range is a number, one outside it a
 *  bigint; a floating-point number is always boxed, so that 1 and 1.0 stay two different things. */
export type CborItem =
  | number
  | bigint
  | string
  | boolean
  | null
  | undefined
  | Uint8Array
  | CborFloat
  | CborTagged
  | CborSimple
  | CborMap
  | readonly CborItem[];

export type CborMap = ReadonlyMap<CborItem, CborItem>;

export interface CborFloat {
  readonly kind: "float";
  readonly value: number;
}

export interface CborTagged {
  readonly kind: "tagged";
  readonly tag: number | bigint;
  readonly item: CborItem;
}

/** A simple value without a meaning of its own: 0 to 19 and 32 to 255. */
export interface CborSimple {
  readonly kind: "simple";
  readonly number: number;
}

export const isCborMap = (item: CborItem): item is CborMap => item instanceof Map;
export const isCborList = (item: CborItem): item is readonly CborItem[] => Array.isArray(item);

/** Major types, RFC 8949 section 3.1. */
export const major = {
  unsigned: 0,
  negative: 1,
  bytes: 2,
  text: 3,
  list: 4,
  map: 5,
  tag: 6,
  simple: 7,
} as const;
