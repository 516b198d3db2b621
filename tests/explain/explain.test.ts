import { spawnSync } from "node:child_process";
import { describe, expect, test } from "vitest";
import { type CaseTold, explainCase } from "../../scripts/explain/explain-case.ts";
import { instant } from "../../server/domain/units.ts";
import { at, caseFolder, WrittenUnit, writtenModel } from "./written-case.ts";

const manifest = {
  zone: "Europe/London",
  models: [writtenModel],
  units: [{ serial: "CU-1", model: "M" }],
  people: [{ id: "P1" }],
  loans: [{ id: "L1", unit: "CU-1", person: "P1", startedAt: "2026-11-02T00:00:00Z" }],
  plans: [
    {
      person: "P1",
      version: 1,
      validFrom: "2026-11-01T00:00:00Z",
      intervalMinutes: 30,
      holdSeconds: 120,
      kinds: ["lean-left", "lift"],
    },
  ],
};

async function told(folder: string, knownOn: number | null = null): Promise<CaseTold> {
  const explained = await explainCase(folder, knownOn === null ? null : instant(knownOn));
  if (explained.kind === "unreadable") throw new Error(JSON.stringify(explained.problems));
  return explained.told;
}
const loan = (from: CaseTold, id = "L1") => {
  const found = from.loans.find((one) => one.loan === id);
  if (!found) throw new Error(`no loan ${id}`);
  return found;
};

/** Brief acceptance story: three Tuesdays are lost to the link; the backlog of two comes on the following days. */
function threeTuesdays(): string[] {
  const unit = new WrittenUnit("CU-1", 1, at("2026-11-02T00:00:00Z"));
  const away = { signalDecibelMilliwatts: null };
  const backlog = new Map([
    ["2026-11-03", "2026-11-05T09:00:00Z"],
    ["2026-11-10", "2026-11-12T09:00:00Z"],
    ["2026-11-17", "2026-11-19T09:00:00Z"],
  ]);
  for (let day = at("2026-11-02T00:00:00Z"); day < at("2026-11-20T00:00:00Z"); day += 86_400_000) {
    const late = backlog.get(new Date(day).toISOString().slice(0, 10));
    const arrives = late === undefined ? null : at(late);
    unit.minutes(8 * 60, { loaded: false, power: "charging" });
    unit.minutes(30, arrives === null ? {} : away);
    unit.sits(9, arrives);
    unit.minutes((24 * 60 * 60_000 - ((unit.now - day) % 86_400_000)) / 60_000, { loaded: false });
  }
  return unit.lines;
}

describe("three lost Tuesdays", () => {
  const folder = caseFolder(manifest, threeTuesdays());

  test("while a Tuesday is missing it is a gap that is not put on the person", async () => {
    const { gaps, adherence } = loan(await told(folder, at("2026-11-11T12:00:00Z")));
    const open = gaps.filter(({ filledAt }) => filledAt === null);
    expect(open).toHaveLength(1);
    expect(open[0]?.start.slice(0, 13)).toBe("2026-11-10T08");
    expect(open[0]?.verdict?.outcome).toBe("link");
    expect(adherence.notAssessable).toBeGreaterThan(0);
    expect(adherence.bounds?.low).toBeLessThan(adherence.bounds?.high ?? 0);
  });

  test("once all backlogs are in, nothing is missing and the old conclusions are still there", async () => {
    const { gaps, days, adherence } = loan(await told(folder));
    expect(gaps).toHaveLength(3);
    for (const { filledAt, verdict, earlierVerdicts } of gaps) {
      expect(filledAt).not.toBeNull();
      expect(verdict?.outcome).toBe("link");
      expect(verdict?.sentence).toContain("nothing is missing");
      expect(earlierVerdicts.length).toBeGreaterThan(0);
    }
    for (const { minutes, minutesInDay } of days)
      expect(Object.values(minutes).reduce((sum, count) => sum + count, 0)).toBe(minutesInDay);
    expect(adherence.notAssessable).toBe(0);
    expect(adherence.bounds?.low).toBe(adherence.bounds?.high);
  });

  test("what is told as known on an earlier day is what was told then", async () => {
    const early = at("2026-11-06T12:00:00Z");
    const before = threeTuesdays().filter((line) => at(JSON.parse(line).receivedAt) <= early);
    const shortened = caseFolder({ ...manifest, until: "2026-11-06T12:00:00Z" }, before);
    expect(await told(folder, early)).toEqual(await told(shortened));
  });
});

describe("a swap", () => {
  const swapped = {
    ...manifest,
    units: [...manifest.units, { serial: "CU-2", model: "M" }],
    loans: [
      { ...manifest.loans[0], endedAt: "2026-11-05T12:00:00Z" },
      { id: "L2", unit: "CU-2", person: "P1", startedAt: "2026-11-05T12:00:00Z", follows: "L1" },
    ],
    visits: [{ loan: "L1", at: "2026-11-05T12:00:00Z", status: "done" }],
  };
  const first = new WrittenUnit("CU-1", 1, at("2026-11-02T00:00:00Z"));
  const second = new WrittenUnit("CU-2", 1, at("2026-11-05T12:00:00Z"));
  for (let day = 0; day < 3; day += 1)
    first.minutes(480, { loaded: false }).sits(10).minutes(360, { loaded: false });
  // The old unit is carried off, still recording: none of that is the person's.
  first.minutes(12 * 60, { loaded: false }).minutes(300, { loadHectograms: 900 });
  second.sits(8).minutes(240, { loaded: false });
  const folder = caseFolder(swapped, [...first.lines, ...second.lines]);

  test("each unit's record belongs to its own loan, and the person has both", async () => {
    const all = await told(folder);
    expect(all.problems).toEqual([]);
    const seated = (id: string) => loan(all, id).days.reduce((sum, { minutes }) => sum + minutes.seated, 0);
    expect(seated("L1")).toBe(3 * 600);
    expect(seated("L2")).toBe(8 * 60);
    const [person] = all.people;
    expect(person?.adherence.met).toBe(loan(all).adherence.met + loan(all, "L2").adherence.met);
  });
});

describe("what can't be used", () => {
  const good = new WrittenUnit("CU-1", 1, at("2026-11-02T08:00:00Z")).sits(4).lines;

  test("a bad line is named by line and field, and its neighbours are used", async () => {
    const [hello = "", second = "", third = "", ...rest] = good;
    const wrong = JSON.parse(second);
    delete wrong.message.firstUptimeSeconds;
    const tooHigh = JSON.parse(third);
    tooHigh.message.sequence = -4;
    const lines = [
      hello,
      "{ not json",
      JSON.stringify(wrong),
      JSON.stringify(tooHigh),
      second,
      third,
      ...rest,
    ];
    const damaged = await told(caseFolder(manifest, lines));
    expect(damaged.problems.map(({ line }) => line)).toEqual([2, 3, 4]);
    expect(damaged.problems[1]?.field).toBe("message.firstUptimeSeconds");
    expect(damaged.problems[2]?.problem).toContain("sequence");
    expect(loan(damaged).days).toEqual(loan(await told(caseFolder(manifest, good))).days);
  });

  test("a manifest entry that can't be used is left out with what refers to it", async () => {
    const folder = caseFolder(
      {
        ...manifest,
        units: [...manifest.units, { serial: "CU-9", model: "X" }],
        loans: [...manifest.loans, { id: "L9", unit: "CU-9", person: "P1", startedAt: "yesterday" }],
        notes: [{ loan: "L9", kind: "holiday", from: "2026-11-02T00:00:00Z" }],
      },
      good,
    );
    const { problems, loans } = await told(folder);
    expect(problems.map(({ field }) => field)).toEqual(["loans[1].startedAt", "units", "notes"]);
    expect(loans.map(({ loan: id }) => id)).toEqual(["L1"]);
  });

  test("the command prints one JSON object, and says what it left out", () => {
    const folder = caseFolder(manifest, [...good, "[]"]);
    const command = ["--import", "tsx", "scripts/explain/explain.ts", folder];
    const { status, stdout, stderr } = spawnSync(process.execPath, command, { encoding: "utf8" });
    expect(status).toBe(1);
    expect(stderr).toContain(`messages.jsonl:${good.length + 1}`);
    expect(JSON.parse(stdout).loans[0].loan).toBe("L1");
  });
});
