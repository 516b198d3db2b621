import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { localDay } from "../../server/domain/time/local-day.ts";
import { endLoan } from "../../server/programme/end-loan.ts";
import { moveUnit } from "../../server/programme/move-unit.ts";
import { openLoan } from "../../server/programme/open-loan.ts";
import { openRecall } from "../../server/programme/recall-open.ts";
import { storesWorklist } from "../../server/programme/stores-worklist.ts";
import { swapUnit } from "../../server/programme/swap-unit.ts";
import { callOffVisit } from "../../server/programme/visit-call-off.ts";
import { completeVisit } from "../../server/programme/visit-complete.ts";
import { type PlanVisitRequest, planVisit } from "../../server/programme/visit-plan.ts";
import { loanById, loanFollowing } from "../../server/store/loans.ts";
import { unitBySerial } from "../../server/store/units.ts";
import { visitById } from "../../server/store/visits.ts";
import { cast, type TestServices, testServices, things } from "../support/cast.ts";

const actor = { kind: "staff", id: cast.coordinator.id } as const;
const dayOf = (text: string) => {
  const day = localDay(text);
  if (day === null) throw new Error("the test's own day is wrong");
  return day;
};
const today = dayOf("2026-05-03");
const swapTask = { kind: "swap", replacement: things.stockUnit } as const;

let services: TestServices;
beforeEach(() => {
  services = testServices();
});
afterEach(() => services.close());

const plan = (change: Partial<PlanVisitRequest> = {}) =>
  planVisit(services, actor, {
    loan: things.loan,
    task: swapTask,
    day: today,
    doneBy: cast.technician.id,
    reason: "a column is dead",
    ...change,
  });
const planned = (change: Partial<PlanVisitRequest> = {}) => {
  const outcome = plan(change);
  if (outcome.kind !== "planned") throw new Error(outcome.sentence);
  return outcome.visit;
};
const placeOf = (serial = things.stockUnit) => unitBySerial(services.db, serial)?.place;
const kinds = () => storesWorklist(services).map((task) => task.kind);

describe("a planned visit", () => {
  it("reserves the replacement, so that it can't be promised, moved or lent twice", () => {
    planned();
    expect(placeOf()).toBe("reserved");
    const lent = openLoan(services, actor, {
      unit: things.stockUnit,
      borrower: things.otherBorrower,
      dueBackOn: null,
    });
    expect(lent).toMatchObject({ kind: "refused", rule: "reserved-elsewhere", nearest: null });
    const moved = moveUnit(services, actor, { unit: things.stockUnit, from: "reserved", to: "in-stock" });
    expect(moved).toMatchObject({ rule: "reserved-for-a-visit" });
    const swapped = swapUnit(services, actor, {
      loan: things.loan,
      replacement: things.stockUnit,
      reason: "r",
      unitTo: "quarantine",
    });
    expect(swapped).toMatchObject({ rule: "visit-planned" });
  });

  it("is refused twice, for a past day, for an ended loan, and for somebody who doesn't make visits", () => {
    expect(plan({ day: dayOf("2026-05-02") })).toMatchObject({ rule: "day-has-passed" });
    expect(plan({ doneBy: cast.clinician.id })).toMatchObject({ rule: "nobody-to-do-it" });
    expect(plan({ task: { kind: "swap", replacement: things.lentUnit } })).toMatchObject({
      rule: "not-in-stock",
    });
    planned();
    expect(plan({ task: { kind: "collection" } })).toMatchObject({ rule: "already-planned" });
  });

  it("once done as a swap, has swapped the unit; a second press changes nothing", () => {
    const visit = planned();
    const done = () =>
      completeVisit(services, actor, { visit, surface: "equivalent-in-place", unitTo: "coming-back" });
    expect(done()).toMatchObject({ kind: "completed", opened: { reference: "L-0002" } });
    expect([placeOf(things.lentUnit), placeOf()]).toEqual(["coming-back", "on-loan"]);
    expect(done()).toMatchObject({ kind: "refused", rule: "visit-closed" });
    expect(loanFollowing(services.db, things.loan)?.reference).toBe("L-0002");
  });

  it("once done as a collection, has ended the loan", () => {
    const visit = planned({ task: { kind: "collection" } });
    const outcome = completeVisit(services, actor, { visit, surface: "not-needed", unitTo: "quarantine" });
    expect(outcome).toMatchObject({ kind: "completed", opened: null });
    expect(loanById(services.db, things.loan)?.endedAt).toBe(services.clock.now());
    expect(placeOf(things.lentUnit)).toBe("quarantine");
  });

  it("called off, frees the unit it had reserved and leaves the loan as it was", async () => {
    const visit = planned();
    expect((await callOffVisit(services, actor, { visit, as: "no-access" })).kind).toBe("called-off");
    expect(placeOf()).toBe("in-stock");
    expect(loanById(services.db, things.loan)?.endedAt).toBeNull();
    expect(await callOffVisit(services, actor, { visit, as: "cancelled" })).toMatchObject({
      rule: "visit-closed",
    });
  });

  it("is cancelled by ending its loan", () => {
    const visit = planned();
    endLoan(services, actor, {
      loan: things.loan,
      reason: "moved away",
      surface: "not-needed",
      unitTo: "coming-back",
    });
    expect(visitById(services.db, visit)?.status).toBe("cancelled");
    expect(placeOf()).toBe("in-stock");
  });
});

describe("the Stores worklist", () => {
  it("is empty when nothing has to move", () => {
    expect(kinds()).toEqual([]);
  });

  it("shows a visit on its day, and still when it is overdue, and says afterwards what is coming back", () => {
    const visit = planned({ day: dayOf("2026-05-04") });
    expect(kinds()).toEqual([]);
    services.clock.move(24 * 3_600_000);
    expect(storesWorklist(services)).toMatchObject([{ kind: "visit", overdue: false }]);
    services.clock.move(24 * 3_600_000);
    expect(storesWorklist(services)).toMatchObject([{ kind: "visit", overdue: true }]);
    completeVisit(services, actor, { visit, surface: "equivalent-in-place", unitTo: "coming-back" });
    expect(kinds()).toEqual(["hand-out", "coming-back"]);
  });

  it("says not to hand out a unit that has come under recall since it was lent, and offers a swap instead", () => {
    openLoan(services, actor, { unit: things.stockUnit, borrower: things.otherBorrower, dueBackOn: null });
    expect(storesWorklist(services)).toMatchObject([{ kind: "hand-out", code: { state: "none" } }]);
    openRecall(services, actor, { title: "t", advice: "a", criterion: "lot", value: things.lot });
    expect(storesWorklist(services)).toMatchObject([
      { kind: "recall-outstanding", outstanding: 2 },
      { kind: "hand-out", code: { state: "barred", recalls: ["R-0001"] } },
    ]);
  });

  it("asks to chase where nobody opened, until another day is planned", async () => {
    await callOffVisit(services, actor, { visit: planned(), as: "no-access" });
    expect(kinds()).toEqual(["no-access"]);
    planned({ day: dayOf("2026-05-06") });
    expect(kinds()).toEqual([]);
  });
});
