import { describe, expect, it } from "vitest";
import { type CborItem, isCborMap } from "../../firmware-protocol/src/cbor/item.ts";
import { readCbor } from "../../firmware-protocol/src/cbor/read.ts";
import { messageCodes } from "../../firmware-protocol/src/envelope.ts";
import { conforms, parsedByLibrary, spelledGrammar } from "./cddl-grammar.ts";
import { accepted, bytesOf, rejected } from "./vectors.ts";

/** Any valid CBOR, in whatever form: null where it is none. */
function itemOf(hex: string): { readonly item: CborItem } | null {
  const reading = readCbor(bytesOf(hex), { deterministic: false, maximumDepth: 8 });
  return reading.kind === "item" ? { item: reading.item } : null;
}

const ruleOf = (direction: "up" | "down"): string => (direction === "up" ? "uplink" : "downlink");

/** Refused by SPEC.md for what a grammar of items can't say, with how many of the rejected vectors show it. */
const beyondGrammar = {
  // The bytes: the length of the whole, the one deterministic form.
  "FP-3.2": 2,
  "FP-3.4": 5,
  "FP-3.5": 3,
  "FP-3.6": 1,
  // Bits of a byte.
  "FP-5.7": 5,
  // Lengths that follow from another entry, and sums of differences.
  "FP-5.8": 14,
  "FP-5.9": 3,
  "FP-5.10": 8,
  "FP-5.11": 3,
  "FP-5.12": 4,
  "FP-5.13": 3,
  "FP-5.22": 2,
  "FP-5.65": 2,
  // What happened lies after the message that tells of it.
  "FP-5.6": 1,
  "FP-5.15": 1,
  "FP-5.19": 1,
  "FP-5.24": 1,
  "FP-5.34": 1,
  "FP-5.39": 1,
  "FP-5.43": 1,
  "FP-5.49": 1,
  "FP-5.51": 1,
  "FP-5.58": 1,
  "FP-5.61": 2,
  // What is too many, out of order or there twice, measured against another entry.
  "FP-5.25": 1,
  "FP-5.44": 1,
  "FP-5.45": 6,
  "FP-5.46": 6,
  "FP-5.47": 2,
  "FP-7.1": 2,
  "FP-7.3": 5,
  "FP-7.7": 1,
};

// The library parses CDDL and holds no CBOR against it: cddl-grammar.ts matches items against what it parsed.
describe("cushion.cddl", () => {
  it("is read by a parser made for CDDL, once integer keys are spelled as names it knows", () => {
    expect([...parsedByLibrary(spelledGrammar).keys()]).toEqual(
      expect.arrayContaining(Object.keys(messageCodes)),
    );
    expect(() => parsedByLibrary(spelledGrammar.replace("count = 0..", "count = = 0.."))).toThrow();
    expect(() => parsedByLibrary(spelledGrammar.replace("envelope = (", "envelope = "))).toThrow();
  });

  it.each(accepted)("describes $name, and under no other message's rule", ({ direction, hex, message }) => {
    const read = itemOf(hex);
    if (read === null) throw new Error("not CBOR");
    expect(conforms(ruleOf(direction), read.item)).toBe(true);
    const others = Object.keys(messageCodes).filter((kind) => kind !== message.kind);
    expect(others.filter((kind) => conforms(kind, read.item))).toEqual([]);
  });

  it("describes no message that SPEC.md refuses, save for what only its text can say", () => {
    const passed: Record<string, number> = {};
    for (const { clause, direction, hex } of rejected) {
      const read = itemOf(hex);
      if (read === null || !conforms(ruleOf(direction), read.item)) continue;
      passed[clause] = (passed[clause] ?? 0) + 1;
    }
    expect(passed).toEqual(beyondGrammar);
  });

  it("lets no entry of an accepted message be left out that is not optional, nor one be added", () => {
    for (const { direction, hex, writesBack } of accepted.filter((vector) => vector.writesBack)) {
      const item = itemOf(hex)?.item;
      if (!writesBack || item === undefined || !isCborMap(item)) throw new Error("not a map");
      expect(conforms(ruleOf(direction), new Map([...item].filter(([key]) => key !== 16)))).toBe(false);
      expect(conforms(ruleOf(direction), new Map([...item, [63, 0]]))).toBe(false);
      expect(conforms(ruleOf(direction), new Map([...item, [64, 0]]))).toBe(true);
    }
  });
});
