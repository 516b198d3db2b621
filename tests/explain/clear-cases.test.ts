import { describe, expect, test } from "vitest";
import { type CaseTold, explainCase } from "../../scripts/explain/explain-case.ts";
import { at, caseFolder, WrittenUnit, writtenModel } from "./written-case.ts";

/** Cases whose answer anybody in the trade would give at once, written by hand in the documented form.
 *  Common practice, no source. */

const hour = 3_600_000;
const began = at("2026-11-02T00:00:00Z");

interface Home {
  readonly unit: WrittenUnit;
  readonly serial: string;
  readonly area?: string;
}

function manifestOf(homes: readonly Home[], until?: string) {
  return {
    zone: "Europe/London",
    ...(until ? { until } : {}),
    models: [writtenModel],
    units: homes.map(({ serial }) => ({ serial, model: "M" })),
    people: homes.map(({ serial, area }) => ({ id: `P-${serial}`, ...(area ? { area } : {}) })),
    loans: homes.map(({ serial }) => ({
      id: `L-${serial}`,
      unit: serial,
      person: `P-${serial}`,
      startedAt: "2026-11-02T00:00:00Z",
    })),
    plans: homes.map(({ serial }) => ({
      person: `P-${serial}`,
      version: 1,
      validFrom: "2026-11-01T00:00:00Z",
      intervalMinutes: 30,
      holdSeconds: 120,
      kinds: ["lean-left", "lift"],
    })),
  };
}

async function told(homes: readonly Home[], until?: string): Promise<CaseTold> {
  const lines = homes.flatMap(({ unit }) => unit.lines);
  const explained = await explainCase(caseFolder(manifestOf(homes, until), lines), null);
  if (explained.kind === "unreadable") throw new Error(JSON.stringify(explained.problems));
  expect(explained.told.problems).toEqual([]);
  return explained.told;
}

const offTheChair = { loaded: false, loadHectograms: 0 };
const day = (unit: WrittenUnit): WrittenUnit =>
  unit
    .minutes(420, { ...offTheChair, power: "charging" })
    .minutes(60, offTheChair)
    .sits(10)
    .minutes(360, offTheChair);
function days(serial: string, count: number): WrittenUnit {
  const unit = new WrittenUnit(serial, 1, began);
  for (let done = 0; done < count; done++) day(unit);
  return unit;
}

describe("what shares an area and falls silent together", () => {
  const quiet = (serial: string, area: string): Home => ({ serial, area, unit: days(serial, 8).sits(9) });
  const goesOn = (serial: string, area: string): Home => ({ serial, area, unit: days(serial, 10) });

  test("three of six, neighbours: the network there, and nobody asks the people", async () => {
    const homes = [
      quiet("CU-1", "Elm Quarter"),
      quiet("CU-2", "Elm Quarter"),
      quiet("CU-3", "Elm Quarter"),
      goesOn("CU-4", "Mill End"),
      goesOn("CU-5", "Quarry Hill"),
      goesOn("CU-6", "Long Acre"),
    ];
    const { loans } = await told(homes, "2026-11-11T04:00:00Z");
    for (const { gaps } of loans.slice(0, 3)) {
      expect(gaps.map(({ verdict }) => verdict?.outcome)).toEqual(["link"]);
      expect(gaps[0]?.verdict?.causes[0]?.cause).toBe("area-outage");
      expect(gaps[0]?.verdict?.evidence.map(({ sentence }) => sentence)).toContain(
        "2 of the 2 other units in the same area fell silent within the same minutes, and 0 of the 3 elsewhere.",
      );
    }
  });

  test("all six, of no known area: one incident of the whole programme, and link for each", async () => {
    const six = Array.from({ length: 6 }, (_, index) => ({
      serial: `CU-${index}`,
      unit: days(`CU-${index}`, 8).sits(9),
    }));
    const { incidents, loans } = await told(six, "2026-11-11T04:00:00Z");
    expect(incidents).toEqual([
      expect.objectContaining({
        scope: "programme",
        start: "2026-11-10T09:00:00.000Z",
        end: null,
        expected: 6,
      }),
    ]);
    expect(incidents[0]?.units).toHaveLength(6);
    expect(loans.map(({ gaps }) => gaps[0]?.verdict?.outcome)).toEqual(six.map(() => "link"));
  });
});

test("a unit that never restarted was recording all the while, however it came back: link, not battery", async () => {
  const unit = days("CU-1", 10);
  unit.unsent(5 * 24 * 60);
  unit.minutes(420, { ...offTheChair, power: "charging" });
  const { loans } = await told([{ serial: "CU-1", unit }]);
  expect(loans[0]?.gaps.map(({ verdict }) => verdict?.outcome)).toEqual(["link"]);
  expect(loans[0]?.gaps[0]?.verdict?.probability).toBeGreaterThan(0.99);
});

test("a unit that hangs again and again: once that is found, the silences before it are the unit's too", async () => {
  const first = days("CU-1", 10).sits(2);
  let unit = first;
  const lines = [...first.lines];
  for (let boot = 2; boot <= 9; boot++) {
    unit = new WrittenUnit("CU-1", boot, unit.now + 0.75 * hour, "watchdog").minutes(25, {});
    if (boot === 9) unit.minutes(24 * 60, offTheChair);
    lines.push(...unit.lines);
  }
  first.lines.splice(0, first.lines.length, ...lines);
  const { loans } = await told([{ serial: "CU-1", unit: first }]);
  const gaps = loans[0]?.gaps ?? [];
  expect(gaps).toHaveLength(8);
  for (const { verdict } of gaps) expect(verdict?.outcome).toBe("device");
  expect(gaps[0]?.earlierVerdicts.map(({ outcome }) => outcome)).toContain("not-settled");
});

describe("what nobody has looked at is not called sound", () => {
  test("no picture of the grid ever came: fewer left leans are put down to nobody", async () => {
    const unit = days("CU-1", 12)
      .minutes(420, { ...offTheChair, power: "charging" })
      .minutes(600, {});
    const { loans } = await told([{ serial: "CU-1", unit }]);
    const [thin] = loans[0]?.thinStretches ?? [];
    expect(thin?.verdict?.outcome).toBe("not-settled");
    expect(JSON.stringify(thin?.verdict?.evidence)).not.toContain("grid was sound");
  });

  test("of a model whose draw is not described nothing is said of how much its cell holds", async () => {
    const flat = (described: object) => {
      const unit = new WrittenUnit("CU-1", 1, began);
      for (let done = 0; done < 12; done++)
        for (let part = 0; part < 24; part++)
          unit.minutes(60, {
            ...(part < 6 ? { ...offTheChair, power: part < 5 ? "charging" : "charged" } : {}),
            cellMillivolts: part < 6 ? 4_180 : 4_150 - (part - 6) * 28,
          });
      unit.minutes(20, { cellMillivolts: 3_200 }).cutOff();
      const manifest = { ...manifestOf([{ serial: "CU-1", unit }], "2026-11-14T20:00:00Z") };
      return { manifest: { ...manifest, models: [{ ...writtenModel, ...described }] }, unit };
    };
    const clues = async (described: object) => {
      const { manifest, unit } = flat(described);
      const explained = await explainCase(caseFolder(manifest, unit.lines), null);
      if (explained.kind === "unreadable") throw new Error(JSON.stringify(explained.problems));
      const [gap] = explained.told.loans[0]?.gaps ?? [];
      return gap?.verdict?.evidence.find(({ clue }) => clue === "capacity")?.sentence;
    };
    expect(await clues({})).not.toContain("has faded");
    expect(await clues({ drawMilliamperes: { loaded: 13, empty: 4 } })).toContain("has faded");
  });
});
