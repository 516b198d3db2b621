import { spawn } from "node:child_process";
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { UnitSerial } from "../../server/domain/ids.ts";
import { instant } from "../../server/domain/units.ts";
import { firstBrokenAuditRow } from "../../server/store/audit.ts";
import { type OpenDatabase, openDatabase } from "../../server/store/database.ts";
import { createTelemetryStore } from "../../server/store/telemetry.ts";

const demo = fileURLToPath(new URL("../../scripts/demo/demo.ts", import.meta.url));
const root = mkdtempSync(join(tmpdir(), "cushionry-demo-"));

interface Ended {
  readonly code: number | null;
  readonly said: string;
}

function run(...options: readonly string[]): Promise<Ended> {
  const child = spawn(process.execPath, ["--import", "tsx", demo, ...options], {
    stdio: ["ignore", "pipe", "pipe"],
  });
  let said = "";
  child.stdout.on("data", (text) => {
    said += String(text);
  });
  child.stderr.on("data", (text) => {
    said += String(text);
  });
  return new Promise((resolve) => child.on("exit", (code) => resolve({ code, said })));
}

afterAll(() => rmSync(root, { recursive: true, force: true }));

describe("the demonstration, cut down to two days and four loans", () => {
  const folder = join(root, "played");
  let ended: Ended;
  let database: OpenDatabase;

  beforeAll(async () => {
    const size = ["--days", "2", "--loans", "4", "--exit-when-ready"];
    ended = await run("--folder", folder, "--port", "0", "--mqtt-port", "0", ...size);
    if (ended.code === 0) database = openDatabase(join(folder, "data"));
  }, 180_000);
  afterAll(() => database?.close());

  const rows = <Row>(sql: string): Row[] => database.driver.prepare<[], Row>(sql).all();

  it("plays to its end and says where to open it", () => {
    expect(ended.said).toContain("Ready after");
    expect(ended.said).toMatch(/http:\/\/localhost:\d+/);
    expect(ended.code).toBe(0);
  });

  it("has enrolled every unit lent, each by a pairing code that is now spent", () => {
    const codes = rows<{ spent_at: number | null; certificate_serial: string | null }>(
      "select spent_at, certificate_serial from pairing_code where bench_session_id is null",
    );
    expect(codes.length).toBe(4);
    for (const code of codes) {
      expect(code.spent_at).not.toBeNull();
      expect(code.certificate_serial).not.toBeNull();
    }
    expect(rows("select id from loan where started_at is null")).toEqual([]);
  });

  it("has left a unit in the middle of a guided session, with every reading so far judged", () => {
    const steps = rows<{ step: string; judged: string | null }>(
      `select bench_step_done.step, judged from bench_step_done join bench_session on id = session_id
       where unit_serial = 'CU-004807' and state = 'open'`,
    );
    expect(steps.map(({ step }) => step)).toContain("hold");
    for (const { step, judged } of steps) expect([step, judged === null]).toEqual([step, step === "hold"]);
  });

  it("has stored each relief that a unit saw once and only once, as the truth file tells", async () => {
    const truth = readFileSync(join(folder, "truth.jsonl"), "utf8").trim().split("\n");
    const seen = truth
      .map((line): { seen?: boolean } => JSON.parse(line))
      .filter((event) => event.seen === true);
    const telemetry = createTelemetryStore(database);
    const ever = { start: instant(0), end: instant(Number.MAX_SAFE_INTEGER) };
    let stored = 0;
    for (const { serial } of rows<{ serial: UnitSerial }>("select serial from unit")) {
      stored += (await telemetry.read(serial, ever)).reliefs.length;
    }
    expect(seen.length).toBeGreaterThan(40);
    // A relief still being held as the demonstration ends is told in the next minute, which never comes.
    expect(stored).toBeLessThanOrEqual(seen.length);
    expect(seen.length - stored).toBeLessThanOrEqual(4);
  });

  it("had nothing that could not be read", () => {
    expect(rows("select id from kept_aside")).toEqual([]);
  });

  it("has ledger days that each add up to their hours", () => {
    const days = rows<{ starts_at: number; ends_at: number; runs: string }>(
      "select starts_at, ends_at, runs from ledger_day",
    );
    expect(days.length).toBeGreaterThanOrEqual(8);
    for (const day of days) {
      const runs: readonly (readonly [number, number, number])[] = JSON.parse(day.runs);
      const total = runs.reduce((sum, [, from, until]) => sum + until - from, 0);
      expect(total).toBe(day.ends_at - day.starts_at);
    }
  });

  it("leaves an audit whose chain holds", () => {
    expect(firstBrokenAuditRow(database.db)).toBeNull();
  });
});

describe("the demonstration's folder", () => {
  it("is never taken from something that is not a demonstration's", async () => {
    const precious = join(root, "precious");
    mkdirSync(precious);
    writeFileSync(join(precious, "letters.txt"), "keep me");
    const { code, said } = await run("--folder", precious, "--port", "0", "--mqtt-port", "0");
    expect(code).toBe(2);
    expect(said).toContain("Nothing was touched");
    expect(readFileSync(join(precious, "letters.txt"), "utf8")).toBe("keep me");
  });
});
