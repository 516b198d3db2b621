import { afterEach, beforeEach, describe, expect, it } from "vitest";
import type { RecallId } from "../../server/domain/ids.ts";
import { unitSerial } from "../../server/domain/ids.ts";
import type { RecallOutcome } from "../../server/domain/lifecycle/recall-balance.ts";
import { addUnit } from "../../server/programme/add-unit.ts";
import { endLoan } from "../../server/programme/end-loan.ts";
import { moveUnit } from "../../server/programme/move-unit.ts";
import { openLoan } from "../../server/programme/open-loan.ts";
import { closeRecall } from "../../server/programme/recall-close.ts";
import { openRecall } from "../../server/programme/recall-open.ts";
import { recordRecallOutcome } from "../../server/programme/recall-outcome.ts";
import { signOffRecallUnit } from "../../server/programme/recall-sign-off.ts";
import { loansOfRecall, unitsOfRecall } from "../../server/store/recalls.ts";
import { cast, type TestServices, testServices, things } from "../support/cast.ts";

const actor = { kind: "staff", id: cast.coordinator.id } as const;
let services: TestServices;
let recall: RecallId;

const open = () =>
  openRecall(services, actor, {
    title: "connector may heat up",
    advice: "Unplug the charger now.",
    criterion: "lot",
    value: things.lot,
  });
const record = (unit: string, outcome: RecallOutcome, evidence = "seen by the bench") =>
  recordRecallOutcome(services, actor, { recall, unit: unitSerial(unit), outcome, evidence });
const retire = (unit = things.stockUnit) =>
  moveUnit(services, actor, { unit, from: "in-stock", to: "retired" });

beforeEach(() => {
  services = testServices();
  const opened = open();
  if (opened.kind !== "opened") throw new Error(opened.sentence);
  recall = opened.recall;
});
afterEach(() => services.close());

describe("a recall by lot", () => {
  it("lists every unit of the lot wherever it is, with everyone it was lent to", () => {
    expect(unitsOfRecall(services.db, recall).map((unit) => [unit.serial, unit.outcome])).toEqual([
      ["CU-000101", "outstanding"],
      ["CU-000102", "outstanding"],
    ]);
    endLoan(services, actor, {
      loan: things.loan,
      reason: "recalled",
      surface: "equivalent-in-place",
      unitTo: "quarantine",
    });
    expect(loansOfRecall(services.db, recall).get(things.lentUnit)).toMatchObject([{ reference: "L-0001" }]);
  });

  it("finds retired and missing units too", () => {
    const other = testServices();
    moveUnit(other, actor, { unit: things.stockUnit, from: "in-stock", to: "missing" });
    const request = { title: "t", advice: "a", criterion: "lot", value: things.lot } as const;
    expect(openRecall(other, actor, request)).toMatchObject({
      kind: "opened",
      reference: "R-0001",
      affected: 2,
    });
    other.close();
  });

  it("is not opened twice for the same lot, nor for one that no unit has", () => {
    expect(open()).toMatchObject({ kind: "refused", rule: "already-open" });
    expect(
      openRecall(services, actor, { title: "t", advice: "a", criterion: "firmware", value: "9.9" }),
    ).toMatchObject({ rule: "nothing-matches" });
  });

  it("bars its units from issue at once, and a unit added to the lot later joins its list", () => {
    const lend = (unit = things.stockUnit) =>
      openLoan(services, actor, { unit, borrower: things.otherBorrower, dueBackOn: null });
    expect(lend()).toMatchObject({ kind: "refused", rule: "recall" });
    const late = addUnit(services, actor, {
      serial: "CU-000777",
      model: things.model,
      lot: things.lot,
      place: "in-stock",
    });
    if (late.kind !== "added") throw new Error(late.sentence);
    expect(lend(late.unit)).toMatchObject({ rule: "recall" });
    expect(unitsOfRecall(services.db, recall)).toHaveLength(3);
    expect(record("CU-000777", "corrected-in-place").kind).toBe("recorded");
    expect(lend(late.unit).kind).toBe("opened");
  });

  it("does not take being told for an outcome: no evidence, no outcome; and not while the unit is elsewhere", () => {
    expect(record("CU-000101", "corrected-in-place", "  ")).toMatchObject({ rule: "evidence-missing" });
    expect(record("CU-000101", "returned")).toMatchObject({ rule: "place-contradicts" });
    expect(record("CU-000999", "returned")).toMatchObject({ rule: "not-on-the-list" });
  });

  it("closes only when nothing is outstanding and a person has signed for what was lost or declined", () => {
    expect(closeRecall(services, actor, recall)).toMatchObject({ rule: "outstanding-units" });
    retire();
    expect(record("CU-000102", "scrapped-with-evidence").kind).toBe("recorded");
    expect(record("CU-000101", "refused", "wants to keep it; clinician told").kind).toBe("recorded");
    expect(closeRecall(services, actor, recall)).toMatchObject({ rule: "sign-off-missing" });
    const sign = (outcome: RecallOutcome) =>
      signOffRecallUnit(services, actor, { recall, unit: things.lentUnit, outcome });
    expect(sign("lost")).toMatchObject({ rule: "changed-meanwhile" });
    expect(sign("refused").kind).toBe("signed-off");
    expect(sign("refused")).toMatchObject({ rule: "already-signed-off" });
    expect(closeRecall(services, actor, recall).kind).toBe("closed");
    expect(closeRecall(services, actor, recall)).toMatchObject({ rule: "already-closed" });
  });

  it("needs a new signature when the outcome changes", () => {
    record("CU-000101", "refused", "wants to keep it");
    signOffRecallUnit(services, actor, { recall, unit: things.lentUnit, outcome: "refused" });
    record("CU-000101", "refused", "still wants to keep it");
    const line = unitsOfRecall(services.db, recall).find((unit) => unit.serial === "CU-000101");
    expect(line?.signedOffBy).toBeNull();
  });

  it("keeps what was not corrected out of issue after it has closed", () => {
    moveUnit(services, actor, { unit: things.stockUnit, from: "in-stock", to: "quarantine" });
    record("CU-000102", "quarantined");
    record("CU-000101", "corrected-in-place");
    expect(closeRecall(services, actor, recall).kind).toBe("closed");
    expect(record("CU-000102", "outstanding")).toMatchObject({ rule: "recall-closed" });
    const move = (
      from: "quarantine" | "cleaning" | "on-the-bench",
      to: "cleaning" | "on-the-bench" | "in-stock",
    ) => moveUnit(services, actor, { unit: things.stockUnit, from, to });
    move("quarantine", "cleaning");
    move("cleaning", "on-the-bench");
    expect(move("on-the-bench", "in-stock")).toMatchObject({ rule: "recall" });
    expect(record("CU-000102", "corrected-in-place").kind).toBe("recorded");
    expect(move("on-the-bench", "in-stock").kind).toBe("moved");
  });
});
