import { toString as drawCode } from "qrcode";
import { describe, expect, it } from "vitest";
import { readPairingPicture } from "../../scripts/simulated-cushions/camera.ts";

describe("the unit's camera", () => {
  it("reads a code as long as a pairing code from its drawn picture", async () => {
    const text = `eyJhbGciOiJFZERTQSJ9.${"Zm9yLXRlc3Rz".repeat(24)}.${"c2lnbmF0dXJl".repeat(7)}`;
    const svg = await drawCode(text, { type: "svg", errorCorrectionLevel: "M", margin: 4 });
    expect(await readPairingPicture(svg)).toBe(text);
  });

  it("reads squares drawn one by one as well as strokes", async () => {
    const strokes = await drawCode("SQUARES", { type: "svg", margin: 4 });
    const path = / stroke="[^"]*" d="([^"]*)"/.exec(strokes)?.[1] ?? "";
    let x = 0;
    let y = 0;
    const squares = [...path.matchAll(/([Mmh])([^Mmh]*)/g)].map(([, command, numbers]) => {
      const [first = 0, next = 0] = (numbers ?? "").split(" ").map(Number);
      if (command === "M") [x, y] = [first, next];
      if (command === "m") x += first;
      if (command !== "h") return "";
      x += first;
      return `M${x - first} ${y - 0.5}h${first}v1h-${first}z`;
    });
    const box = /viewBox="[^"]*"/.exec(strokes)?.[0];
    const svg = `<svg xmlns="http://www.w3.org/2000/svg" ${box}><path fill="#000" d="${squares.join("")}"/></svg>`;
    expect(await readPairingPicture(svg)).toBe("SQUARES");
  });

  it("makes nothing of a picture without a code, or of no picture", async () => {
    expect(
      await readPairingPicture('<svg viewBox="0 0 40 40"><path fill="#000" d="M2 2h9v9h-9z"/></svg>'),
    ).toBeNull();
    expect(await readPairingPicture("not a picture")).toBeNull();
  });
});
