import { describe, expect, it } from "vitest";
import { accepted, asJson, bytesOf, decode, encode, hexOf, rejected } from "./vectors.ts";

// Written by firmware-protocol/vectors/generate.py, an implementation of the wire format in another language.
describe("what every reader must accept", () => {
  it.each(accepted)("$name", (vector) => {
    const message = decode(vector.direction, bytesOf(vector.hex));
    expect(asJson(message)).toEqual(vector.message);
    if (vector.writesBack) expect(hexOf(encode(message))).toBe(vector.hex);
    else expect(asJson(decode(vector.direction, encode(message)))).toEqual(vector.message);
  });

  it.each(accepted)("$name, but cut at any byte, is refused and names no other sender", (vector) => {
    const bytes = bytesOf(vector.hex);
    const sender = vector.direction === "up" ? expect.objectContaining({ unit: vector.message.unit }) : null;
    for (let length = 0; length < bytes.length; length++) {
      const cut = decode(vector.direction, bytes.subarray(0, length));
      if (cut.kind !== "unreadable") throw new Error(`accepted when cut to ${length} bytes`);
      if (cut.clause !== "FP-3.1") throw new Error(`cut to ${length} bytes: ${cut.clause}`);
      if (cut.envelope !== null) expect(cut.envelope).toEqual(sender);
    }
  });
});

describe("what every reader must refuse, and under which clause", () => {
  it.each(rejected)("$clause $name", (vector) => {
    const refused = decode(vector.direction, bytesOf(vector.hex));
    expect(refused).toEqual({
      kind: "unreadable",
      clause: vector.clause,
      reason: expect.stringMatching(new RegExp(`^${vector.field.replace(".", "\\.")}: .`)),
      envelope: vector.envelope,
    });
  });
});
