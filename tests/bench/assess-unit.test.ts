import { eq, sql } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { reconcileFindings } from "../../server/domain/condition/reconcile-findings.ts";
import { type FindingId, findingId, type UnitSerial, unitSerial } from "../../server/domain/ids.ts";
import { instant, probability } from "../../server/domain/units.ts";
import type { LiveTopic } from "../../server/live.ts";
import { lookAtUnit, saveLook } from "../../server/programme/assess-unit.ts";
import { type Assessing, assessUnit, assessUnits } from "../../server/programme/assess-units.ts";
import { judgeFinding } from "../../server/programme/judge-finding.ts";
import { firstBrokenAuditRow } from "../../server/store/audit.ts";
import { clearFinding, openFindingsOf, pastFindingsOf } from "../../server/store/findings.ts";
import { audit } from "../../server/store/schema/audit.ts";
import { assessmentOf } from "../../server/store/unit-assessments.ts";
import { start } from "../simulated-cushions/cast.ts";
import { cast, type TestServices, testServices, things } from "../support/cast.ts";
import { addUnit, day, lived } from "./desk.ts";

const unit = things.lentUnit;
const technician = { kind: "staff", id: cast.technician.id } as const;
const deadColumn = { kind: "column-open", from: start + 4 * day, column: 6 } as const;

let services: TestServices;
beforeEach(() => {
  services = testServices();
});
afterEach(() => services.close());

const changesOfCondition = () =>
  services.db
    .select()
    .from(audit)
    .where(eq(audit.action, "change-condition"))
    .all()
    .map(({ detail }) => `${detail.from} to ${detail.to}`);

describe("assessing a unit", () => {
  it("raises a dead column once, says what it hides, and doing it again changes nothing", async () => {
    await lived(services, { days: 8, spec: { faults: [deadColumn] } });
    const heard: LiveTopic[] = [];
    services.live.follow(["bench", `unit:${unit}`], (topic) => heard.push(topic));
    await assessUnit(services, unit);
    const [first, ...more] = openFindingsOf(services.db, unit);
    expect(more).toEqual([]);
    expect(first).toMatchObject({
      kind: "column-open",
      where: "column 7 of 10, right side",
      level: "act-soon",
    });
    const assessment = assessmentOf(services.db, unit);
    expect(assessment?.level).toBe("act-soon");
    expect(assessment?.since).toBe(first?.since);
    // Column 7 lies under the right sit bone: what leaves the right side in a left lean is not felt.
    expect(assessment?.visibility?.left?.best).toBeLessThan(5);
    expect(assessment?.visibility?.right?.best).toBeGreaterThan(8);
    expect(heard).toEqual(["bench", `unit:${unit}`]);

    services.clock.move(60_000);
    await assessUnit(services, unit);
    const again = openFindingsOf(services.db, unit);
    expect(again).toEqual([{ ...first, lastSeenAt: services.clock.now() }]);
    expect(heard).toHaveLength(2);
    expect(changesOfCondition()).toEqual(["sound to act-soon"]);
    expect(firstBrokenAuditRow(services.db)).toBeNull();
  });

  it("keeps its findings while there is nothing to judge them by", async () => {
    await lived(services, { days: 8, spec: { faults: [deadColumn] }, fault: "cell-hot" });
    await assessUnit(services, unit);
    // Four weeks of silence: no frame is left to look at, and no alarm was taken back.
    services.clock.move(40 * day);
    await assessUnit(services, unit);
    expect(openFindingsOf(services.db, unit).map(({ kind }) => kind)).toEqual(["column-open", "charge-heat"]);
    expect(assessmentOf(services.db, unit)?.visibility?.left?.best).toBeLessThan(5);
    expect(pastFindingsOf(services.db, unit, 10)).toEqual([]);
  });

  it("puts heat above everything and says the safe words", async () => {
    await lived(services, { days: 8, spec: { faults: [deadColumn] }, fault: "cell-hot" });
    await assessUnit(services, unit);
    const assessment = assessmentOf(services.db, unit);
    expect(assessment?.level).toBe("act-now");
    expect(assessment?.reason).toMatch(/Stop charging, do not press or open it/);
    expect(openFindingsOf(services.db, unit)).toHaveLength(2);
  });

  it("finds a unit sound, but says nothing of one without any record", async () => {
    await assessUnit(services, things.stockUnit);
    await lived(services, { days: 8 });
    await assessUnit(services, unit);
    expect(assessmentOf(services.db, unit)).toMatchObject({ level: "sound", since: null });
    expect(assessmentOf(services.db, things.stockUnit)).toBeNull();
    expect(changesOfCondition()).toEqual([]);
  });
});

describe("assessing some units together", () => {
  const other = unitSerial("CU-000201");
  const third = unitSerial("CU-000202");
  const levels = () => [unit, other, third].map((serial) => assessmentOf(services.db, serial)?.level ?? null);

  async function three(): Promise<readonly UnitSerial[]> {
    for (const serial of [other, third]) addUnit(services, serial);
    for (const serial of [unit, other, third]) await lived(services, { serial, days: 2 });
    return [unit, other, third];
  }

  it("saves those before and after one that can't be looked at, and those beside one that can't be saved", async () => {
    const units = await three();
    const failed: UnitSerial[] = [];
    const how: Assessing = { goOn: async () => true, failed: (serial) => failed.push(serial) };
    const read = services.telemetry.holes.bind(services.telemetry);
    const holes = vi.spyOn(services.telemetry, "holes");
    holes.mockImplementation(async (serial, span) => {
      if (serial === other) throw new Error("unreadable");
      return read(serial, span);
    });
    services.db.run(
      sql.raw(`create trigger full before insert on unit_assessment when new.unit_serial = '${third}'
               begin select raise(abort, 'no room'); end`),
    );
    await assessUnits(services, units, how);
    expect(levels()).toEqual(["sound", null, null]);
    expect(failed).toEqual([other, third]);
    holes.mockRestore();
    services.db.run(sql.raw("drop trigger full"));
    await assessUnits(services, units, how);
    expect(levels()).toEqual(["sound", "sound", "sound"]);
  });

  it("looks at no more once told to stop, and saves what it has looked at", async () => {
    let left = 2;
    const how = { goOn: async () => left-- > 0, failed: () => {} };
    await assessUnits(services, await three(), how);
    expect(levels()).toEqual(["sound", "sound", null]);
  });

  it("leaves alone what was found while the others were looked at", async () => {
    await lived(services, { days: 2 });
    const look = await lookAtUnit(services, unit);
    if (look === null) throw new Error("nothing was seen");
    await lived(services, { days: 2, fault: "cell-hot" });
    services.clock.move(1_000);
    await assessUnit(services, unit);
    expect(assessmentOf(services.db, unit)?.level).toBe("act-now");
    expect(services.db.transaction((tx) => saveLook(services, tx, look))).toMatchObject({ shows: false });
    expect(openFindingsOf(services.db, unit)).toMatchObject([{ kind: "charge-heat" }]);
    expect(assessmentOf(services.db, unit)?.level).toBe("act-now");
  });
});

describe("what a technician says of a finding", () => {
  const onlyFinding = (): FindingId => {
    const [finding] = openFindingsOf(services.db, unit);
    if (!finding) throw new Error("nothing was found");
    return finding.id;
  };

  it("refuted: it weighs no more and isn't raised again while its signs last; once clear, it can come anew", async () => {
    await lived(services, { days: 8, spec: { faults: [deadColumn] } });
    await assessUnit(services, unit);
    const id = onlyFinding();
    expect((await judgeFinding(services, technician, { id, judgement: "refuted" })).kind).toBe("judged");
    expect(assessmentOf(services.db, unit)?.level).toBe("sound");
    await assessUnit(services, unit);
    expect(openFindingsOf(services.db, unit)).toMatchObject([
      { id, judgement: "refuted", judgedBy: cast.technician.name },
    ]);
    expect(assessmentOf(services.db, unit)?.level).toBe("sound");
    expect(changesOfCondition()).toEqual(["sound to act-soon", "act-soon to sound"]);

    clearFinding(services.db, id, services.clock.now());
    await assessUnit(services, unit);
    expect(onlyFinding()).not.toBe(id);
    expect(assessmentOf(services.db, unit)?.level).toBe("act-soon");
  });

  it("confirmed: kept with who said so, audited, and can be taken back", async () => {
    await lived(services, { days: 8, spec: { faults: [deadColumn] } });
    await assessUnit(services, unit);
    const id = onlyFinding();
    await judgeFinding(services, technician, { id, judgement: "confirmed" });
    await assessUnit(services, unit);
    expect(openFindingsOf(services.db, unit)).toMatchObject([{ judgement: "confirmed" }]);
    await judgeFinding(services, technician, { id, judgement: null });
    expect(openFindingsOf(services.db, unit)).toMatchObject([{ judgement: null }]);
    const said = services.db.select().from(audit).where(eq(audit.action, "judge-finding")).all();
    expect(said.map(({ actor, detail }) => [actor, detail.judgement])).toEqual([
      [cast.technician.id, "confirmed"],
      [cast.technician.id, "taken back"],
    ]);
  });

  it("is refused of a finding that has cleared or never was", async () => {
    await lived(services, { days: 8, spec: { faults: [deadColumn] } });
    await assessUnit(services, unit);
    const id = onlyFinding();
    clearFinding(services.db, id, services.clock.now());
    expect(await judgeFinding(services, technician, { id, judgement: "confirmed" })).toMatchObject({
      rule: "finding-cleared",
    });
    const none = { id: findingId("finding_none"), judgement: "confirmed" } as const;
    expect(await judgeFinding(services, technician, none)).toMatchObject({ rule: "unknown-finding" });
  });
});

describe("matching what is found with what is on record", () => {
  const found = (where: string) => ({
    kind: "column-open" as const,
    where,
    level: "watch" as const,
    probability: probability(0.9),
    since: instant(5),
    sentence: "",
    mistakenFor: "",
    settledBy: "",
  });
  const open = (id: string, where: string) => ({
    id,
    kind: "column-open" as const,
    where,
    since: instant(3),
  });

  it("goes by kind and place, and clears only kinds that could be judged", () => {
    const now = { found: [found("a"), found("b")], judged: new Set(["column-open" as const]) };
    const result = reconcileFindings([open("1", "b"), open("2", "c")], now);
    expect(result.raised.map(({ where }) => where)).toEqual(["a"]);
    expect(result.kept.map((pair) => pair.open.id)).toEqual(["1"]);
    expect(result.cleared.map(({ id }) => id)).toEqual(["2"]);
    const blind = reconcileFindings([open("2", "c")], { found: [], judged: new Set() });
    expect(blind).toEqual({ raised: [], kept: [], cleared: [] });
  });
});
