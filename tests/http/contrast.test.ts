import { readFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { describe, expect, it } from "vitest";
import { z } from "zod";

const here = dirname(fileURLToPath(import.meta.url));

// WCAG 2.2, definitions of relative luminance and contrast ratio; the expected ratios come with the file, from the
// W3C documents named in it and from an independent computation.
const reference = z
  .object({ contrast: z.array(z.object({ fg: z.string(), bg: z.string(), ratio: z.number() })) })
  .parse(JSON.parse(readFileSync(join(here, "..", "reference", "wcag22-contrast.json"), "utf8")));

function luminance(colour: string): number {
  const parts = [1, 3, 5].map((at) => Number.parseInt(colour.slice(at, at + 2), 16) / 255);
  const [red = 0, green = 0, blue = 0] = parts.map((part) =>
    part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4,
  );
  return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
}

function contrast(one: string, other: string): number {
  const [dark = 0, light = 0] = [luminance(one), luminance(other)].sort((a, b) => a - b);
  return (light + 0.05) / (dark + 0.05);
}

const sheet = readFileSync(join(here, "..", "..", "views", "assets", "cushionry.css"), "utf8");

/** The colours of one scheme, as the style sheet gives them. */
function scheme(which: "light" | "dark"): ReadonlyMap<string, string> {
  const dark = sheet.indexOf("@media screen and (prefers-color-scheme: dark)");
  const start = which === "light" ? sheet.indexOf("@layer tokens {") : dark;
  const end = which === "light" ? dark : sheet.indexOf("@layer base {");
  const found = sheet.slice(start, end).matchAll(/--([\w-]+): (#[0-9a-f]{6});/g);
  return new Map([...found].map(([, name = "", colour = ""]) => [name, colour]));
}

const grounds = ["paper", "sheet"];
/** Text needs 4.5 : 1 (SC 1.4.3), the edge of a control and the focus ring 3 : 1 (SC 1.4.11). */
const pairs: readonly (readonly [ink: string, ground: string, atLeast: number])[] = [
  ...["ink", "ink-soft", "teal", "teal-deep", "ochre"].flatMap((ink) =>
    grounds.map((ground) => [ink, ground, 4.5] as const),
  ),
  ["on-teal", "teal", 4.5],
  ["on-teal", "teal-deep", 4.5],
  ["ink", "teal-wash", 4.5],
  ["teal-deep", "teal-wash", 4.5],
  ["ink", "ochre-wash", 4.5],
  ["ochre", "ochre-wash", 4.5],
  ["teal", "ochre-wash", 4.5],
  ...grounds.map((ground) => ["edge", ground, 3] as const),
];

describe("contrast", () => {
  it("is computed as WCAG 2.2 defines it", () => {
    for (const { fg, bg, ratio } of reference.contrast) expect(contrast(fg, bg)).toBeCloseTo(ratio, 9);
  });

  it.each(["light", "dark"] as const)("of every ink on every ground of the %s scheme passes AA", (which) => {
    const colours = scheme(which);
    const short = pairs
      .map(([ink, ground, atLeast]) => {
        const ratio = contrast(colours.get(ink) ?? "missing", colours.get(ground) ?? "missing");
        return { ink, ground, ratio, passes: ratio >= atLeast };
      })
      .filter(({ passes }) => !passes);
    expect(short).toEqual([]);
  });
});
