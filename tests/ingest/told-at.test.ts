import fc from "fast-check";
import { expect, it } from "vitest";
import { decodeUplink } from "../../firmware-protocol/src/decode.ts";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { toldIn } from "../../server/ingest/told-at.ts";
import { hello } from "./cushion-messages.ts";

const count = fc.nat(0xffff_ffff);

it("what a message says of the time is read from its first bytes as the decoder reads it", () => {
  fc.assert(
    fc.property(count, count, count, fc.option(count), (boot, sequence, uptime, wall) => {
      const bytes = encodeUplink(hello({ boot, sequence, uptime, wall }));
      const message = decodeUplink(bytes);
      if (message.kind === "unreadable") throw new Error(message.reason);
      const { wallSeconds, uptimeSeconds } = message;
      expect(toldIn(bytes)).toEqual({ boot: message.boot, uptimeSeconds, wallSeconds });
    }),
  );
});

it("whatever else the bytes are, it is told as unknown or as some numbers, and nothing is thrown", () => {
  fc.assert(
    fc.property(fc.uint8Array({ maxLength: 40 }), (bytes) => {
      const told = toldIn(bytes);
      if (told === null) return;
      const { boot, uptimeSeconds, wallSeconds } = told;
      expect([boot, uptimeSeconds, wallSeconds ?? 0].every(Number.isSafeInteger)).toBe(true);
    }),
  );
});
