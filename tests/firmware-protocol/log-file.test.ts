import { readFileSync } from "node:fs";
import * as zlib from "node:zlib";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { z } from "zod";
import { crc32 } from "../../firmware-protocol/src/crc32.ts";
import { readLogFile, writeLogFile } from "../../firmware-protocol/src/log-file.ts";
import { bytesOf, hexOf } from "./vectors.ts";

const vectors = z
  .array(
    z.object({
      name: z.string(),
      hex: z.string(),
      log: z.boolean(),
      records: z.array(z.string()),
      faults: z.array(z.object({ number: z.number(), byte: z.number(), what: z.string() })),
    }),
  )
  .parse(
    JSON.parse(
      readFileSync(new URL("../../firmware-protocol/vectors/log-files.json", import.meta.url), "utf8"),
    ),
  );

describe("a log file", () => {
  it.each(vectors)("is read as the independent generator says: $name", ({ hex, log, records, faults }) => {
    const read = readLogFile(bytesOf(hex));
    expect(read.kind).toBe(log ? "log" : "not-a-log");
    if (read.kind !== "log") return;
    expect(read.unit).toBe("CU-4K7M2");
    expect(read.records.map(({ payload }) => hexOf(payload))).toEqual(records);
    expect(read.faults).toEqual(faults);
  });

  it("is written as the generator writes it", () => {
    const whole = vectors.find(({ name }) => name === "three records");
    expect(hexOf(writeLogFile("CU-4K7M2", (whole?.records ?? []).map(bytesOf)))).toBe(whole?.hex);
  });

  const payloads = fc.array(fc.uint8Array({ minLength: 1, maxLength: 400 }), { maxLength: 20 });

  it("cut off anywhere gives the whole records before the cut, and names the one that was cut", () => {
    fc.assert(
      fc.property(payloads, fc.nat(), (all, anywhere) => {
        const file = writeLogFile("CU-000101", all);
        const cut = file.subarray(0, 17 + (anywhere % Math.max(1, file.length - 16)));
        const read = readLogFile(cut);
        if (read.kind !== "log") throw new Error(read.reason);
        expect(read.records.map(({ payload }) => payload)).toEqual(all.slice(0, read.records.length));
        const ends = read.records.at(-1);
        const isWhole = read.faults.length === 0;
        if (!isWhole)
          expect(read.faults).toEqual([
            expect.objectContaining({ number: (ends?.number ?? 0) + 1, what: "cut-off" }),
          ]);
      }),
    );
  });

  it("of any bytes at all is never a crash", () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 300 }), (bytes) => {
        readLogFile(bytes);
        readLogFile(Uint8Array.from([...writeLogFile("CU-000101", []), ...bytes]));
      }),
    );
  });

  // Outside: Node's own zlib, where it has it; and the check value of the CRC catalogue.
  it("has zlib's checksum", () => {
    expect(crc32(new TextEncoder().encode("123456789"))).toBe(0xcbf43926);
    if (typeof zlib.crc32 === "function")
      fc.assert(fc.property(fc.uint8Array(), (bytes) => crc32(bytes) === zlib.crc32(bytes)));
  });
});
