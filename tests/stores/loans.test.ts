import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { certificateSerial, loanId, staffId, unitSerial } from "../../server/domain/ids.ts";
import { instant, kilograms, millimetres, millisecondsIn } from "../../server/domain/units.ts";
import type { LiveTopic } from "../../server/live.ts";
import { addBorrower } from "../../server/programme/add-borrower.ts";
import { addUnit } from "../../server/programme/add-unit.ts";
import { endLoan } from "../../server/programme/end-loan.ts";
import { moveUnit } from "../../server/programme/move-unit.ts";
import { noteOnLoan } from "../../server/programme/note-on-loan.ts";
import { openLoan } from "../../server/programme/open-loan.ts";
import { swapUnit } from "../../server/programme/swap-unit.ts";
import { firstBrokenAuditRow } from "../../server/store/audit.ts";
import { addCertificate, certificateBySerial } from "../../server/store/certificates.ts";
import { notesOfLoan } from "../../server/store/loan-notes.ts";
import { loanById, loanFollowing } from "../../server/store/loans.ts";
import { audit } from "../../server/store/schema/audit.ts";
import { unitBySerial } from "../../server/store/units.ts";
import { cast, type TestServices, testServices, things } from "../support/cast.ts";

const actor = { kind: "staff", id: cast.coordinator.id } as const;
let services: TestServices;
beforeEach(() => {
  services = testServices();
});
afterEach(() => services.close());

const lend = (unit = things.stockUnit, borrower = things.otherBorrower) =>
  openLoan(services, actor, { unit, borrower, dueBackOn: null });
const end = (loan = things.loan) =>
  endLoan(services, actor, {
    loan,
    reason: "no longer needed",
    surface: "not-needed",
    unitTo: "coming-back",
  });
const placeOf = (serial = things.stockUnit) => unitBySerial(services.db, serial)?.place;
const auditRows = () => services.db.select().from(audit).all();

describe("opening a loan", () => {
  it("takes a fitting unit out of stock, numbers the loan, and leaves an audit row that names no person", () => {
    const outcome = lend();
    expect(outcome).toMatchObject({ kind: "opened", reference: "L-0002" });
    expect(placeOf()).toBe("on-loan");
    const row = auditRows().find((each) => each.action === "open-loan");
    expect(row?.detail).toMatchObject({ reference: "L-0002", unit: "CU-000102" });
    expect(JSON.stringify(auditRows())).not.toContain("Person");
    expect(firstBrokenAuditRow(services.db)).toBeNull();
  });

  it("refuses a second press, and the first loan stays the only one", () => {
    lend();
    expect(lend()).toMatchObject({ kind: "refused", rule: "borrower-has-a-loan" });
    expect(auditRows().filter((row) => row.action === "open-loan")).toHaveLength(1);
  });

  it("refuses a unit that another borrower has, and names the nearest that suits", () => {
    const outcome = lend(things.lentUnit);
    expect(outcome).toMatchObject({ kind: "refused", rule: "not-in-stock", nearest: "CU-000102" });
  });

  it("refuses a person for whom no clinician has set a relief plan", () => {
    const added = addBorrower(services, actor, {
      name: "Person Three",
      area: "South",
      address: "2 Invented Row",
      phone: "none",
      weight: kilograms(70),
      seatWidth: millimetres(430),
      seatDepth: millimetres(430),
      clinicianId: cast.clinician.id,
    });
    if (added.kind !== "added") throw new Error("the borrower should have been added");
    const outcome = lend(things.stockUnit, added.borrower);
    expect(outcome).toMatchObject({ kind: "refused", rule: "no-relief-plan" });
    expect(placeOf()).toBe("in-stock");
  });

  it("refuses a borrower under somebody who is not a clinician", () => {
    const request = {
      name: "Person Three",
      area: "South",
      address: "2 Invented Row",
      phone: "none",
      weight: kilograms(70),
      seatWidth: millimetres(430),
      seatDepth: millimetres(430),
    };
    const under = (clinicianId = staffId("nobody")) =>
      addBorrower(services, actor, { ...request, clinicianId });
    expect(under()).toMatchObject({ rule: "not-a-clinician" });
    expect(under(cast.technician.id)).toMatchObject({ rule: "not-a-clinician" });
  });
});

describe("ending a loan", () => {
  it("revokes its certificate and withdraws the unit in one step, and tells the broker", () => {
    const serial = certificateSerial("0a1b");
    addCertificate(services.db, {
      serial,
      unitSerial: things.lentUnit,
      loanId: things.loan,
      keyThumbprint: "thumb",
      pem: "pem",
      issuedAt: services.clock.now(),
      expiresAt: instant(services.clock.now() + millisecondsIn.hour),
    });
    const heard: LiveTopic[] = [];
    services.live.follow(["certificates", "stores"], (topic) => heard.push(topic));
    expect(end().kind).toBe("ended");
    expect(certificateBySerial(services.db, serial)?.revokedAt).toBe(services.clock.now());
    expect(placeOf(things.lentUnit)).toBe("coming-back");
    expect(heard).toEqual(["certificates", "stores"]);
  });

  it("answers a second press with what is already so, and keeps the first end", () => {
    end();
    const first = loanById(services.db, things.loan)?.endedAt;
    services.clock.move(60_000);
    const second = end();
    expect(second).toMatchObject({ kind: "refused", rule: "already-ended" });
    expect(second.kind === "refused" && second.sentence).toContain("L-0001 has already ended");
    expect(loanById(services.db, things.loan)?.endedAt).toBe(first);
  });

  it("refuses an end in the future or before the beginning", () => {
    const at = (time: number) =>
      endLoan(services, actor, {
        loan: things.loan,
        reason: "moved away",
        surface: "not-needed",
        unitTo: "coming-back",
        at: instant(time),
      });
    expect(at(services.clock.now() + 1)).toMatchObject({ rule: "in-the-future" });
    expect(at(services.clock.now() - 40 * 24 * millisecondsIn.hour)).toMatchObject({
      rule: "before-it-began",
    });
  });

  it("brings the unit back to stock only through quarantine, cleaning and the bench", () => {
    end();
    const move = (from: Parameters<typeof moveUnit>[2]["from"], to: typeof from) =>
      moveUnit(services, actor, { unit: things.lentUnit, from, to });
    expect(move("coming-back", "in-stock")).toMatchObject({ rule: "move-not-allowed" });
    expect(move("coming-back", "quarantine").kind).toBe("moved");
    expect(move("coming-back", "quarantine")).toMatchObject({ rule: "already-there" });
    expect(move("coming-back", "missing")).toMatchObject({ rule: "moved-meanwhile" });
    expect(move("quarantine", "cleaning").kind).toBe("moved");
    expect(move("cleaning", "in-stock")).toMatchObject({ rule: "move-not-allowed" });
    expect(move("cleaning", "on-the-bench").kind).toBe("moved");
    expect(move("on-the-bench", "in-stock").kind).toBe("moved");
  });
});

describe("a swap", () => {
  const swap = (replacement = things.stockUnit) =>
    swapUnit(services, actor, {
      loan: things.loan,
      replacement,
      reason: "a column is dead",
      unitTo: "quarantine",
    });

  it("ends one loan and opens the next for the same person at the same instant", () => {
    const outcome = swap();
    if (outcome.kind !== "swapped") throw new Error(outcome.sentence);
    const next = loanFollowing(services.db, things.loan);
    expect(next).toMatchObject({ unitSerial: "CU-000102", borrowerId: things.borrower, startedAt: null });
    expect(next?.openedAt).toBe(loanById(services.db, things.loan)?.endedAt);
    expect([placeOf(things.lentUnit), placeOf()]).toEqual(["quarantine", "on-loan"]);
  });

  it("leaves everything as it was when the replacement doesn't suit", () => {
    moveUnit(services, actor, { unit: things.stockUnit, from: "in-stock", to: "quarantine" });
    expect(swap()).toMatchObject({ kind: "refused", rule: "not-in-stock" });
    expect(loanById(services.db, things.loan)?.endedAt).toBeNull();
    expect(placeOf(things.lentUnit)).toBe("on-loan");
  });

  it("answers a second press with the loan that followed, and swaps nothing twice", () => {
    swap();
    const second = swap();
    expect(second).toMatchObject({ kind: "refused", rule: "already-ended" });
    expect(second.kind === "refused" && second.sentence).toContain("L-0002 followed it");
  });
});

describe("adding a unit", () => {
  const add = (serial: string, lot: string = things.lot) =>
    addUnit(services, actor, { serial, model: things.model, lot, place: "in-stock" });

  it("refuses a serial twice, and one that could not be a name on a certificate or a topic", () => {
    expect(add("CU-000900").kind).toBe("added");
    expect(add("CU-000900")).toMatchObject({ rule: "serial-exists" });
    for (const serial of ["cu-1", "CU/1", "CU#", "CU+1", "", "-CU", "CU 1"])
      expect(add(serial)).toMatchObject({ rule: "serial-not-readable" });
  });
});

describe("a note on a loan", () => {
  const note = (from: number, until: number | null) =>
    noteOnLoan(services, actor, {
      loan: things.loan,
      kind: "hospital",
      from: instant(from),
      until: until === null ? null : instant(until),
      text: "The ward rang.",
    });

  it("is kept with its writer, and its text stays out of the audit", async () => {
    expect((await note(1_000, null)).kind).toBe("noted");
    expect(notesOfLoan(services.db, things.loan)[0]).toMatchObject({ writerName: "Odile Marsh" });
    expect(JSON.stringify(auditRows())).not.toContain("ward");
  });

  it("can't end before it begins, nor belong to a loan that isn't there", async () => {
    expect(await note(1_000, 1_000)).toMatchObject({ rule: "ends-before-it-begins" });
    const nowhere = await noteOnLoan(services, actor, {
      loan: loanId("loan_none"),
      kind: "call",
      from: instant(0),
      until: null,
      text: "x",
    });
    expect(nowhere).toMatchObject({ rule: "unknown-loan" });
    expect(unitBySerial(services.db, unitSerial("CU-none"))).toBeNull();
  });
});
