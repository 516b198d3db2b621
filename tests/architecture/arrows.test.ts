import { execFile } from "node:child_process";
import { cpSync, mkdirSync, mkdtempSync, readdirSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { z } from "zod";

const root = join(dirname(fileURLToPath(import.meta.url)), "..", "..");
const rooms = ["server", "views", "firmware-protocol", "scripts", "tests"];
const configFile = join(root, ".dependency-cruiser.cjs");
const cruiser = join(root, "node_modules", "dependency-cruiser", "bin", "dependency-cruise.mjs");

const reportShape = z.object({
  modules: z.array(z.object({ source: z.string() })),
  summary: z.object({
    violations: z.array(z.object({ from: z.string(), rule: z.object({ name: z.string() }) })),
  }),
});
const configShape = z.object({ forbidden: z.array(z.object({ name: z.string() })) });

/** What the cruiser says of the tree in `folder`, under the project's own rules. */
function cruise(folder: string): Promise<z.output<typeof reportShape>> {
  const args = [cruiser, "--config", configFile, "--output-type", "json", ...rooms];
  return new Promise((resolve, reject) => {
    execFile(
      process.execPath,
      args,
      { cwd: folder, maxBuffer: 64 * 1024 * 1024 },
      (_error, stdout, stderr) => {
        // It exits with the number of violations: the report itself says whether it ran.
        if (stdout === "") reject(new Error(stderr));
        else resolve(reportShape.parse(JSON.parse(stdout)));
      },
    );
  });
}

/** Each rule, and one import that it must refuse. */
const planted: Readonly<Record<string, readonly [from: string, imports: string]>> = {
  "domain-imports-only-itself": ["server/domain/a.ts", "../store/target.ts"],
  "domain-has-no-packages": ["server/domain/b.ts", "node:fs"],
  "protocol-stands-alone": ["firmware-protocol/src/a.ts", "../../server/domain/target.ts"],
  "protocol-has-no-packages": ["firmware-protocol/src/b.ts", "zod"],
  "store-is-below-everything": ["server/store/a.ts", "../programme/target.ts"],
  "programme-decides-and-saves": ["server/programme/a.ts", "../http/target.ts"],
  "security-stands-on-store": ["server/security/a.ts", "../programme/target.ts"],
  "enrolment-stands-on-store": ["server/enrolment/a.ts", "../ingest/target.ts"],
  "ingest-takes-messages-in": ["server/ingest/a.ts", "../http/target.ts"],
  "jobs-call-programme": ["server/jobs/a.ts", "../ingest/target.ts"],
  "http-is-at-the-edge": ["server/http/a.ts", "../ingest/target.ts"],
  "http-speaks-protocol-for-enrolment-only": ["server/http/b.ts", "../../firmware-protocol/src/target.ts"],
  "views-take-props": ["views/a.tsx", "../server/store/target.ts"],
  "views-run-nothing-of-the-server-but-domain": ["views/b.tsx", "../server/live.ts"],
  "contracts-stay-small": ["server/services.ts", "./http/target.ts"],
  "simulated-cushions-are-hardware": ["scripts/simulated-cushions/a.ts", "../../server/domain/target.ts"],
  "conformance-knows-the-protocol-only": ["scripts/conformance/a.ts", "../simulated-cushions/target.ts"],
  "only-the-store-speaks-sql": ["server/http/c.ts", "drizzle-orm"],
  "nothing-ships-from-tests": ["server/d.ts", "../tests/target.ts"],
  "server-needs-no-script": ["server/e.ts", "../scripts/target.ts"],
  "nothing-unresolved": ["server/f.ts", "./is-not-there.ts"],
};

/** A tree in which every allowed arrow is drawn once. */
const allowed: Readonly<Record<string, readonly string[]>> = {
  "server/domain/target.ts": [],
  "firmware-protocol/src/target.ts": [],
  "server/live.ts": [],
  "server/store/target.ts": ["../domain/target.ts", "../../firmware-protocol/src/target.ts", "drizzle-orm"],
  "server/programme/target.ts": ["../store/target.ts", "../domain/target.ts", "../live.ts"],
  "server/security/target.ts": ["../store/target.ts", "../domain/target.ts"],
  "server/enrolment/target.ts": ["../store/target.ts", "../../firmware-protocol/src/target.ts"],
  "server/ingest/target.ts": ["../programme/target.ts", "../../firmware-protocol/src/target.ts"],
  "server/jobs/target.ts": ["../programme/target.ts"],
  "views/target.tsx": ["../server/domain/target.ts", "hono/jsx"],
  "server/http/target.ts": ["../programme/target.ts", "../security/target.ts", "../../views/target.tsx"],
  "server/http/enrol-route.ts": ["../enrolment/target.ts", "../../firmware-protocol/src/target.ts"],
  "server/start.ts": ["./http/target.ts", "./ingest/target.ts", "./jobs/target.ts"],
  "scripts/target.ts": ["../server/start.ts"],
  "scripts/simulated-cushions/target.ts": ["../../firmware-protocol/src/target.ts", "zod"],
  "scripts/conformance/target.ts": ["../../firmware-protocol/src/target.ts", "@peculiar/x509"],
  "tests/target.ts": ["../server/start.ts", "../server/store/target.ts"],
};

let folder: string;

function plant(path: string, imports: readonly string[]): void {
  const text = imports
    .map((each, i) => `import * as imported${i} from "${each}";\nvoid imported${i};\n`)
    .join("");
  mkdirSync(dirname(join(folder, path)), { recursive: true });
  writeFileSync(join(folder, path), `${text}export const planted = true;\n`);
}

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "arrows-"));
  cpSync(join(root, "tsconfig.json"), join(folder, "tsconfig.json"));
  cpSync(join(root, "package.json"), join(folder, "package.json"));
  symlinkSync(join(root, "node_modules"), join(folder, "node_modules"));
  for (const [path, imports] of Object.entries(allowed)) plant(path, imports);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function sourceFiles(room: string): string[] {
  return readdirSync(join(root, room), { recursive: true, encoding: "utf8" })
    .filter((path) => /\.tsx?$/.test(path))
    .map((path) => join(room, path));
}

describe("the arrows between the rooms", () => {
  it("hold in every source file there is", async () => {
    const report = await cruise(root);
    const cruised = new Set(report.modules.map(({ source }) => source));
    expect(rooms.flatMap(sourceFiles).filter((file) => !cruised.has(file))).toEqual([]);
    expect(report.summary.violations.map(({ from, rule }) => `${from}: ${rule.name}`)).toEqual([]);
  });

  it("allow what they are meant to allow", async () => {
    const report = await cruise(folder);
    expect(report.summary.violations).toEqual([]);
    expect(report.modules.map(({ source }) => source)).toEqual(expect.arrayContaining(Object.keys(allowed)));
  });

  it("are each broken by an import that breaks them", async () => {
    for (const [path, imports] of Object.values(planted)) plant(path, [imports]);
    plant("server/circle-a.ts", ["./circle-b.ts"]);
    plant("server/circle-b.ts", ["./circle-a.ts"]);
    const report = await cruise(folder);
    const found = report.summary.violations.map(({ from, rule }) => `${rule.name} in ${from}`);
    const expected = Object.entries(planted).map(([rule, [from]]) => `${rule} in ${from}`);
    const circle = "no-circles in server/circle-a.ts";
    expect([...expected, circle].filter((each) => !found.includes(each))).toEqual([]);
  });

  it("have no rule without a planted violation", () => {
    const config = configShape.parse(createRequire(import.meta.url)(configFile));
    const rules = config.forbidden.map(({ name }) => name).sort();
    expect(rules).toEqual([...Object.keys(planted), "no-circles"].sort());
  });
});
