import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, it } from "vitest";
import { openDatabase } from "../../server/store/database.ts";
import { fileOfVersion } from "../support/old-file.ts";

/** Of the version before the bench could issue codes. */
const beforeTheBench = 5;
const certificates =
  "select serial, unit_serial, loan_id, key_thumbprint, pem, issued_at, expires_at, revoked_at, revoke_reason from certificate order by serial";
const codes =
  "select id, loan_id, unit_serial, purpose, issued_at, expires_at, issued_by, typed_hash, withdrawn_at, spent_at, spent_by_key, certificate_serial from pairing_code order by id";

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "old-codes-"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

it("a file from before the bench keeps every code and certificate, whatever had become of them", () => {
  const old = fileOfVersion(folder, beforeTheBench);
  old.exec(`
    insert into staff (id, login, name, role, created_at) values ('staff-1', 'one', 'One', 'coordinator', 1);
    insert into model (id, name, size, width_mm, depth_mm, weight_limit_kg, grid_rows, grid_columns, grid_pitch_mm, rated_capacity_mah)
      values ('model-1', 'Medium', 'M', 430, 430, 120, 8, 8, 50, 2000);
    insert into lot (id, model_id, received_at) values ('lot-1', 'model-1', 1);
    insert into unit (serial, model_id, lot_id, place, place_since) values ('CU-000001', 'model-1', 'lot-1', 'on-loan', 1);
    insert into borrower (id, name, area, address, phone, weight_kg, seat_width_mm, seat_depth_mm, clinician_id, created_at)
      values ('borrower-1', 'Person', 'North', 'Row', 'none', 70, 420, 420, 'staff-1', 1);
    insert into loan (id, reference, unit_serial, borrower_id, opened_at) values ('loan-1', 'L-0001', 'CU-000001', 'borrower-1', 1);
    insert into certificate values ('aa', 'CU-000001', 'loan-1', 'key-a', 'pem-a', 10, 20, 15, 'superseded'), ('bb', 'CU-000001', 'loan-1', 'key-b', 'pem-b', 11, 21, null, null);
    insert into pairing_code (id, loan_id, unit_serial, purpose, issued_at, expires_at, issued_by, typed_hash, withdrawn_at, spent_at, spent_by_key, certificate_serial)
      values ('spent', 'loan-1', 'CU-000001', 'pair', 2, 9, 'staff-1', 'hash-1', null, 5, 'key-a', 'aa'),
             ('withdrawn', 'loan-1', 'CU-000001', 'pair', 3, 9, 'staff-1', 'hash-2', 4, null, null, null),
             ('open', 'loan-1', 'CU-000001', 'pair', 4, 9, 'staff-1', 'hash-3', null, null, null, null);
  `);
  const before = { certificates: old.prepare(certificates).all(), codes: old.prepare(codes).all() };
  old.close();

  const database = openDatabase(folder);
  const after = {
    certificates: database.driver.prepare(certificates).all(),
    codes: database.driver.prepare(codes).all(),
  };
  expect(after).toEqual(before);
  expect(after.codes).toHaveLength(3);
  expect(
    database.driver
      .prepare("select count(*) from certificate where bench_session_id is not null")
      .pluck()
      .get(),
  ).toBe(0);
  expect(database.driver.pragma("foreign_key_check")).toEqual([]);
  expect(database.driver.pragma("foreign_keys", { simple: true })).toBe(1);
  // What was unique is still so.
  expect(() =>
    database.driver.exec("update pairing_code set typed_hash = 'hash-1' where id = 'open'"),
  ).toThrow(/UNIQUE/);
  database.close();
});
