import { createPrivateKey, createPublicKey } from "node:crypto";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { CompactSign } from "jose";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { prepareZXingModule, readBarcodes } from "zxing-wasm/reader";
import { thumbprintOf } from "../../server/enrolment/certificate-request.ts";
import { pairingCodePicture } from "../../server/enrolment/pairing-picture.ts";
import { signText, verifyText } from "../../server/enrolment/signed-text.ts";
import example from "../reference/rfc8037-appendix-a.json" with { type: "json" };
import { things } from "../support/cast.ts";
import { issue, newSetting, type Setting } from "./setting.ts";

let setting: Setting;
beforeAll(async () => {
  setting = await newSetting();
});
afterAll(() => setting.services.close());

// RFC 8037 Appendix A: the key of A.1, its thumbprint in A.3, the signature of A.4, its verification in A.5.
describe("the published example of RFC 8037", () => {
  const privateKey = createPrivateKey({ key: example.jwk, format: "jwk" });
  const publicKey = createPublicKey(privateKey);

  test("is verified by the code that verifies pairing codes", async () => {
    const verified = await verifyText(example.compact, publicKey);
    expect(verified.kind === "signed" && Buffer.from(verified.content).toString()).toBe(example.payload);
  });

  test("is made, letter for letter, by the code that signs pairing codes", async () => {
    expect(await signText(Buffer.from(example.payload), {}, privateKey)).toBe(example.compact);
  });

  test("is not verified with any one letter changed", async () => {
    // All but each part's last letter, some bits of which are padding.
    const letters = [...example.compact];
    for (let place = 0; place < letters.length; place += 1) {
      const next = letters[place + 1];
      if (letters[place] === "." || next === "." || next === undefined) continue;
      const changed = letters.with(place, letters[place] === "A" ? "B" : "A").join("");
      expect((await verifyText(changed, publicKey)).kind, changed).not.toBe("signed");
    }
  });

  test("under another algorithm's name is not verified, though key and signature are right", async () => {
    const content = Buffer.from(example.payload);
    const renamed = await new CompactSign(content).setProtectedHeader({ alg: "Ed25519" }).sign(privateKey);
    expect(await verifyText(renamed, publicKey)).toEqual({ kind: "another-signature" });
  });

  test("has the published thumbprint", async () => {
    expect(await thumbprintOf(publicKey)).toBe(example.thumbprintSha256);
  });
});

describe("a pairing code on paper", () => {
  test("says which unit and loan it is for, what it is for, and until when", async () => {
    const code = await issue(setting);
    const [header, content] = code.jws
      .split(".")
      .slice(0, 2)
      .map((part) => JSON.parse(Buffer.from(part, "base64url").toString()));
    expect(header).toEqual({ alg: "EdDSA", kid: setting.enrolment.pairingKey.id, typ: "pairing+jws" });
    const now = setting.services.clock.now() / 1000;
    expect(content).toEqual({
      iss: setting.enrolment.issuer,
      sub: things.lentUnit,
      loan: "L-0001",
      use: "enrol",
      iat: now,
      exp: now + 72 * 3600,
      jti: code.id,
    });
  });

  test("is a picture that an independent reader reads back, letter for letter", async () => {
    const { jws } = await issue(setting);
    const picture = await pairingCodePicture(jws);
    const reader = createRequire(import.meta.url).resolve("zxing-wasm/reader/zxing_reader.wasm");
    await prepareZXingModule({ overrides: { wasmBinary: readFileSync(reader).buffer as ArrayBuffer } });
    const [found, ...others] = await readBarcodes(pixelsOf(picture, 3), { formats: ["QRCode"] });
    expect(others).toEqual([]);
    expect(found?.text).toBe(jws);
    expect(found?.ecLevel).toBe("M");
  });

  test("is a picture with four modules of white around it, and nothing a page's policy would refuse", async () => {
    const { jws } = await issue(setting);
    const picture = await pairingCodePicture(jws);
    expect(picture).not.toMatch(/<script|<style|style=|href=|on\w+=/);
    const { data, width } = pixelsOf(picture, 1);
    const dark = (row: number, column: number) => data[(row * width + column) * 4] === 0;
    for (let along = 0; along < width; along += 1) {
      for (let edge = 0; edge < 4; edge += 1) {
        expect(dark(edge, along) || dark(along, edge)).toBe(false);
        expect(dark(width - 1 - edge, along) || dark(along, width - 1 - edge)).toBe(false);
      }
    }
    expect(dark(4, 4) && dark(4, width - 5) && dark(width - 5, 4)).toBe(true);
    // Printed 45 mm wide a module is still half a millimetre: comfortable for a small camera.
    expect(width).toBeLessThanOrEqual(90);
  });
});

interface Pixels {
  readonly data: Uint8ClampedArray<ArrayBuffer>;
  readonly width: number;
  readonly height: number;
  readonly colorSpace: "srgb";
}

/** Paints the dark path of the picture: rows of horizontal strokes one module high (`M x y`, `m dx dy`, `h length`). */
function pixelsOf(svg: string, scale: number): Pixels {
  const modules = Number(/viewBox="0 0 (\d+) \1"/.exec(svg)?.[1]);
  const path = /stroke="#000000" d="([^"]+)"/.exec(svg)?.[1] ?? "";
  const width = modules * scale;
  const data = new Uint8ClampedArray(width * width * 4).fill(255);
  let [x, y] = [0, 0];
  for (const [, command, first, second] of path.matchAll(/([Mmh])(-?[\d.]+)(?: (-?[\d.]+))?/g)) {
    if (command === "M") [x, y] = [Number(first), Number(second)];
    if (command === "m") [x, y] = [x + Number(first), y + Number(second)];
    if (command === "h") {
      paint(x, Math.floor(y), Number(first));
      x += Number(first);
    }
  }
  function paint(column: number, row: number, length: number): void {
    for (let down = row * scale; down < (row + 1) * scale; down += 1) {
      for (let right = column * scale; right < (column + length) * scale; right += 1) {
        data.fill(0, (down * width + right) * 4, (down * width + right) * 4 + 3);
      }
    }
  }
  return { data, width, height: width, colorSpace: "srgb" };
}
