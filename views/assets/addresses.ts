import { createHash } from "node:crypto";
import { existsSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

/** What a browser may fetch besides pages: nothing else is ever read from the disk for it. */
export const assetNames = ["cushionry.css", "htmx.js", "mark.svg"] as const;
export type AssetName = (typeof assetNames)[number];

export interface Asset {
  readonly type: string;
  readonly text: string;
  /** Changes whenever the content does: an address that carries it may be cached for ever. */
  readonly version: string;
}

const here = dirname(fileURLToPath(import.meta.url));
const htmxFolder = dirname(createRequire(import.meta.url).resolve("htmx.org/dist/htmx.min.js"));

// One request for all of it. The layers are declared by the first; each desk then fills its own.
const styleSheets = ["cushionry.css", "stores.css", "bench.css", "clinic.css"];

function textOf(name: AssetName): string {
  switch (name) {
    case "cushionry.css":
      return styleSheets
        .map((sheet) => join(here, sheet))
        .filter((path) => existsSync(path))
        .map((path) => readFileSync(path, "utf8"))
        .join("\n");
    case "htmx.js":
      // In one file: between two deferred scripts the first may begin before the second has registered itself.
      return ["htmx.min.js", join("ext", "hx-sse.min.js")]
        .map((file) => readFileSync(join(htmxFolder, file), "utf8"))
        .join("\n;\n");
    case "mark.svg":
      return readFileSync(join(here, "mark.svg"), "utf8");
  }
}

const types: Readonly<Record<AssetName, string>> = {
  "cushionry.css": "text/css; charset=utf-8",
  "htmx.js": "text/javascript; charset=utf-8",
  "mark.svg": "image/svg+xml",
};

const loaded = new Map<AssetName, Asset>();

/** Read once: the files don't change while the service runs. */
export function asset(name: AssetName): Asset {
  let found = loaded.get(name);
  if (!found) {
    const text = textOf(name);
    const version = createHash("sha256").update(text).digest("hex").slice(0, 16);
    found = { type: types[name], text, version };
    loaded.set(name, found);
  }
  return found;
}

export const assetAddress = (name: AssetName): string => `/assets/${name}?v=${asset(name).version}`;
