import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { connectPacket, unsubscribePacket } from "../../scripts/conformance/mqtt/packets.ts";
import { PacketLimit } from "../../server/ingest/packet-limit.ts";

/** MQTT 3.1.1 section 2.2.3, the standard's own algorithm for the remaining length. */
function remainingLength(length: number): number[] {
  const encoded: number[] = [];
  let left = length;
  do {
    const digit = left % 128;
    left = Math.floor(left / 128);
    encoded.push(left > 0 ? digit | 128 : digit);
  } while (left > 0);
  return encoded;
}

const published = (length: number): Buffer =>
  Buffer.concat([Buffer.from([0x32, ...remainingLength(length)]), Buffer.alloc(length, 0xff)]);

const inPieces = (bytes: Buffer, cuts: readonly number[]): Buffer[] => {
  const edges = [0, ...cuts.map((cut) => cut % (bytes.length + 1)).sort((a, b) => a - b), bytes.length];
  return edges.slice(1).map((end, at) => bytes.subarray(edges[at], end));
};

describe("the limit on packets", () => {
  it("lets any run of packets within it through, however the stream is cut", () => {
    fc.assert(
      fc.property(fc.array(fc.nat(3_000), { maxLength: 6 }), fc.array(fc.nat()), (sizes, cuts) => {
        const limit = new PacketLimit(3_000);
        const pieces = inPieces(Buffer.concat(sizes.map(published)), cuts);
        expect(pieces.map((piece) => limit.refusalOf(piece)).filter((refusal) => refusal !== null)).toEqual(
          [],
        );
      }),
    );
  });

  it("tells the first packet over it from its header alone, whatever came before", () => {
    fc.assert(
      fc.property(
        fc.array(fc.nat(500), { maxLength: 5 }),
        fc.integer({ min: 501, max: 70_000 }),
        (sizes, over) => {
          const limit = new PacketLimit(500);
          expect(limit.refusalOf(Buffer.concat(sizes.map(published)))).toBeNull();
          expect(limit.refusalOf(published(over).subarray(0, 4))).toBe("too-large");
        },
      ),
    );
  });

  it.each([
    [127, [0x7f]],
    [128, [0x80, 0x01]],
    [16_383, [0xff, 0x7f]],
    [16_384, [0x80, 0x80, 0x01]],
    [2_097_151, [0xff, 0xff, 0x7f]],
    [2_097_152, [0x80, 0x80, 0x80, 0x01]],
  ])("reads a remaining length of %i as table 2.4 of MQTT 3.1.1 writes it", (length, encoded) => {
    expect(new PacketLimit(length).refusalOf(Uint8Array.of(0x30, ...encoded))).toBeNull();
    expect(new PacketLimit(length - 1).refusalOf(Uint8Array.of(0x30, ...encoded))).toBe("too-large");
  });

  it("refuses a remaining length of more than four bytes (MQTT 3.1.1 section 2.2.3)", () => {
    expect(new PacketLimit(2 ** 30).refusalOf(Uint8Array.of(0x30, 0x80, 0x80, 0x80, 0x80))).toBe("too-large");
  });

  it("tells an unknown protocol level, and an UNSUBSCRIBE without a filter, however the stream is cut", () => {
    const known = connectPacket({ clientId: "CU-000007" });
    const cases = [
      ["unknown-level", connectPacket({ clientId: "CU-000007", protocolLevel: 9 })],
      ["no-filter", Buffer.concat([known, unsubscribePacket(1, [])])],
      [null, Buffer.concat([known, unsubscribePacket(1, ["a"]), published(2)])],
    ] as const;
    fc.assert(
      fc.property(fc.constantFrom(...cases), fc.array(fc.nat()), ([refusal, bytes], cuts) => {
        const limit = new PacketLimit(3_000);
        let told: string | null = null;
        for (const piece of inPieces(bytes, cuts)) told ??= limit.refusalOf(piece);
        expect(told).toBe(refusal);
      }),
    );
  });
});
