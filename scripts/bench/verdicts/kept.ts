import { createHash } from "node:crypto";
import { existsSync, mkdirSync, readdirSync, readFileSync, renameSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";

const here = fileURLToPath(new URL(".", import.meta.url));
const judgedBy = ["adherence", "identity-trouble", "ledger", "time", "verdicts"].map((room) =>
  fileURLToPath(new URL(`../../../server/domain/${room}/`, import.meta.url)),
);

/** Names the sources that made a result: another line of code, another name. */
export function sourcesName(): string {
  const hash = createHash("sha256");
  const settings = fileURLToPath(new URL("../../../server/domain/settings.ts", import.meta.url));
  const files = [here, ...judgedBy].flatMap((folder) =>
    readdirSync(folder)
      .sort()
      .filter((name) => name.endsWith(".ts"))
      .map((name) => join(folder, name)),
  );
  for (const file of [...files, settings]) hash.update(readFileSync(file));
  return hash.digest("hex").slice(0, 16);
}

/** What `make` gives, kept in a file so that a run that was stopped goes on where it stood. The file is found again only
 *  by the very same sources. */
export function kept<Result>(sources: string, name: string, make: () => Result): Result {
  const folder = join(tmpdir(), "cushionry-bench-verdicts", sources);
  const file = join(folder, `${name}.json`);
  if (existsSync(file)) {
    const read: { readonly result: Result } = JSON.parse(readFileSync(file, "utf8"));
    return read.result;
  }
  const result = make();
  mkdirSync(folder, { recursive: true });
  writeFileSync(`${file}.part`, JSON.stringify({ result }));
  renameSync(`${file}.part`, file);
  return result;
}
