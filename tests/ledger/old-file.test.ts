import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, it } from "vitest";
import { loanId } from "../../server/domain/ids.ts";
import { localDay } from "../../server/domain/time/local-day.ts";
import { instant } from "../../server/domain/units.ts";
import { openDatabase } from "../../server/store/database.ts";
import { daysAwaiting, digestedDaysFrom } from "../../server/store/ledger-days.ts";
import { fileOfVersion } from "../support/old-file.ts";

/** Of the version before days kept the sums of their habits. */
const beforeDigests = 14;

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "old-days-"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

it("days of an older file that still wait for minutes are looked at again, and habits are told from the record", () => {
  const old = fileOfVersion(folder, beforeDigests);
  old.exec(`
    insert into staff (id, login, name, role, created_at) values ('staff-1', 'one', 'One', 'coordinator', 1);
    insert into model (id, name, size, width_mm, depth_mm, weight_limit_kg, grid_rows, grid_columns, grid_pitch_mm, rated_capacity_mah)
      values ('model-1', 'Medium', 'M', 430, 430, 120, 8, 8, 50, 2000);
    insert into lot (id, model_id, received_at) values ('lot-1', 'model-1', 1);
    insert into unit (serial, model_id, lot_id, place, place_since) values ('CU-000001', 'model-1', 'lot-1', 'on-loan', 1);
    insert into borrower (id, name, area, address, phone, weight_kg, seat_width_mm, seat_depth_mm, clinician_id, created_at)
      values ('borrower-1', 'Person', 'North', 'Row', 'none', 70, 420, 420, 'staff-1', 1);
    insert into loan (id, reference, unit_serial, borrower_id, opened_at) values ('loan-1', 'L-0001', 'CU-000001', 'borrower-1', 1);
    insert into ledger_day (loan_id, day, starts_at, ends_at, runs, due, met, missed, not_assessable, reviewed_at)
      values ('loan-1', '2026-05-01', 0, 120000, '[[0,0,60000],[4,60000,120000]]', '[]', 0, 0, 0, 9),
             ('loan-1', '2026-05-02', 120000, 240000, '[[0,120000,240000]]', '[]', 0, 0, 0, 9);
  `);
  old.close();

  const { db, driver, close } = openDatabase(folder);
  const loan = loanId("loan-1");
  const later = localDay("2026-05-09");
  if (later === null) throw new Error("the test's own constant is wrong");
  expect(daysAwaiting(db, loan, later).map(({ day }) => day)).toEqual(["2026-05-01"]);
  expect(digestedDaysFrom(db, loan, instant(0)).map(({ digest }) => digest)).toEqual([null, null]);
  const plan = driver
    .prepare("explain query plan select * from ledger_day where loan_id = ? and day < ? and awaits = 1")
    .all("loan-1", later);
  expect(JSON.stringify(plan)).toContain("ledger_day_awaiting");
  close();
});
