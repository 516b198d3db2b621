import type { CborItem, CborMap } from "./item.ts";

/** Which rule of the encoding the bytes break. */
export type CborRule =
  | "not-well-formed"
  | "too-deep"
  | "longer-form"
  | "indefinite-length"
  | "key-order"
  | "duplicate-key"
  | "text-not-utf8";

export type CborReading =
  | { readonly kind: "item"; readonly item: CborItem }
  | {
      readonly kind: "problem";
      readonly rule: CborRule;
      /** Where in the bytes, and what was wrong there. */
      readonly reason: string;
      /** The entries of the outermost map that were read before the problem. */
      readonly partial: CborMap | null;
    };

export interface CborReadOptions {
  /** True: only the core deterministic encoding of RFC 8949 section 4.2.1. False: anything valid. */
  readonly deterministic: boolean;
  /** How deep lists, maps and tags may sit in one another. */
  readonly maximumDepth: number;
}
