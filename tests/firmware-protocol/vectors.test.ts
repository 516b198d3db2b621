import { spawnSync } from "node:child_process";
import { copyFileSync, mkdtempSync, readdirSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
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

const hasPython = spawnSync("python3", ["--version"]).status === 0;
if (!hasPython) console.warn("No python3 here: the vectors are not compared with their generator.");

describe.skipIf(!hasPython)("the vectors", () => {
  it("are what their generator writes", () => {
    const source = fileURLToPath(new URL("../../firmware-protocol/vectors/", import.meta.url));
    const folder = mkdtempSync(join(tmpdir(), "vectors-"));
    try {
      for (const name of readdirSync(source).filter((file) => file.endsWith(".py")))
        copyFileSync(join(source, name), join(folder, name));
      expect(spawnSync("python3", ["-B", join(folder, "generate.py")]).status).toBe(0);
      for (const name of ["accepted.json", "rejected.json", "forgetting.json"])
        expect(
          readFileSync(join(folder, name), "utf8") === readFileSync(join(source, name), "utf8"),
          name,
        ).toBe(true);
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  }, 60_000);
});
