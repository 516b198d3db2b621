import { existsSync, mkdirSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";

const mark = "this-is-a-demo-folder.txt";

export type DemoFolder =
  | { readonly kind: "ready"; readonly path: string }
  | { readonly kind: "refused"; readonly sentence: string };

/** Makes the demonstration's own folder, empty. It clears only what a demonstration has made before. */
export function freshDemoFolder(path: string): DemoFolder {
  const folder = resolve(path);
  const content = existsSync(folder) ? readdirSync(folder) : [];
  if (content.length > 0 && !content.includes(mark)) {
    return {
      kind: "refused",
      sentence: `${folder} holds something that no demonstration has made. Nothing was touched. Choose another folder with --folder.`,
    };
  }
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(folder, { recursive: true, mode: 0o700 });
  writeFileSync(
    join(folder, mark),
    "Everything in this folder is invented. The next demonstration starts by clearing it.\n",
  );
  return { kind: "ready", path: folder };
}
