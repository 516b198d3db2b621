import { describe, expect, test } from "vitest";
import { type CaseTold, explainCase } from "../../scripts/explain/explain-case.ts";
import { at, caseFolder, WrittenUnit, writtenModel } from "./written-case.ts";

const manifest = {
  zone: "Europe/London",
  models: [writtenModel],
  units: [{ serial: "CU-1", model: "M" }],
  people: [{ id: "P1" }],
  loans: [{ id: "L1", unit: "CU-1", person: "P1", startedAt: "2026-11-02T00:00:00Z" }],
};
const offTheChair = { loaded: false, loadHectograms: 0 };
const onCharge = { ...offTheChair, power: "charging" };

async function gapsOf(lines: readonly string[]): Promise<CaseTold["loans"][number]["gaps"]> {
  const explained = await explainCase(caseFolder(manifest, lines), null);
  if (explained.kind === "unreadable") throw new Error(JSON.stringify(explained.problems));
  expect(explained.told.problems).toEqual([]);
  return explained.told.loans[0]?.gaps ?? [];
}
const brief = (gaps: Awaited<ReturnType<typeof gapsOf>>) =>
  gaps.map(({ start, end, filledAt, verdict }) => ({
    from: start.slice(5, 16),
    to: end?.slice(5, 16),
    filled: filledAt !== null,
    side: verdict?.leadingSide,
  }));

describe("a network outage that outlasts the store, and then the battery dies", () => {
  // Two days on the charger and on the chair; the network is down from the 4th, 10:00.
  const first = () =>
    new WrittenUnit("CU-1", 1, at("2026-11-02T00:00:00Z"))
      .minutes(480, onCharge)
      .sits(10)
      .minutes(360, onCharge)
      .minutes(480, onCharge)
      .sits(10)
      .minutes(360, onCharge)
      .minutes(600, onCharge);
  const back = at("2026-11-06T18:00:00Z");
  const second = (lost: { boot: number; fromSequence: number; toSequence: number } | null) => {
    const unit = new WrittenUnit("CU-1", 2, back, "brown-out");
    if (lost) unit.overrun(lost);
    return unit.minutes(240, { ...onCharge, cellMillivolts: 3_500 });
  };

  test("what it recovered was late, what the store wrote over was the link's, the flat battery is neither", async () => {
    const unit = first();
    const lost = unit.unsent(24 * 60);
    unit
      .minutes(22 * 60, { loaded: true }, back + 5_000)
      .minutes(120, { cellMillivolts: 3_200 }, back + 5_000);
    unit.cutOff(back + 5_000);
    const gaps = brief(await gapsOf([...unit.lines, ...second(lost).lines]));
    expect(gaps.filter(({ filled }) => !filled)).toEqual([
      { from: "11-04T10:00", to: "11-05T10:00", filled: false, side: "link" },
      { from: "11-06T10:00", to: "11-06T18:00", filled: false, side: "handling" },
    ]);
  });

  test("with nothing recorded in between, the gap is cut where the unit's own numbering ends", async () => {
    const unit = first();
    const late = back + 5_000;
    unit.minutes(10 * 60, { loaded: true }, late);
    // 14 h were numbered and are gone; then only the cut-off itself was kept.
    const lost = unit.unsent(14 * 60);
    unit.cutOff(late);
    const gaps = brief(await gapsOf([...unit.lines, ...second(lost).lines]));
    expect(gaps.filter(({ filled }) => !filled)).toEqual([
      { from: "11-04T20:00", to: "11-05T10:00", filled: false, side: "link" },
      { from: "11-05T10:00", to: "11-06T18:00", filled: false, side: "handling" },
    ]);
  });

  test("where not even the cut-off was kept, it is cut by how many messages the unit says it lost", async () => {
    const unit = first();
    const lost = unit.unsent(14 * 60);
    const gaps = brief(await gapsOf([...unit.lines, ...second(lost).lines]));
    expect(gaps.map(({ from, to, side }) => [from, to, side])).toEqual([
      ["11-04T10:00", "11-05T00:00", "link"],
      ["11-05T00:00", "11-06T18:00", expect.not.stringMatching("link")],
    ]);
  });
});

test("a unit that lay switched off and then ran unheard: two gaps, cut when its uptime began", async () => {
  const unit = new WrittenUnit("CU-1", 1, at("2026-11-02T00:00:00Z")).minutes(480, onCharge).sits(10);
  unit.minutes(120, offTheChair);
  const second = new WrittenUnit("CU-1", 2, at("2026-11-03T08:00:00Z"), "user-off");
  // Even its first greeting is among what was lost: only uptime says when it began.
  second.lines.splice(0);
  second.unsent(6 * 60);
  second.minutes(300, {});
  const gaps = await gapsOf([...unit.lines, ...second.lines]);
  expect(brief(gaps).map(({ from, to }) => [from, to])).toEqual([
    ["11-02T20:00", "11-03T08:00"],
    ["11-03T08:00", "11-03T14:00"],
  ]);
  expect(gaps[1]?.verdict?.leadingSide).toBe("link");
});
