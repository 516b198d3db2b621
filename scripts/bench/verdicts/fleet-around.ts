import { millisecondsIn } from "../../../server/domain/units.ts";
import { openDatabase } from "../../../server/store/database.ts";

/** Days between a unit's gaps in the record, and how long one lasts: of each eighth, a longer one. */
const everyDays = 4;
/** As in the programmes that the verdicts are scored on. */
const peopleAnArea = 15;
const shortHours = 2;
const longHours = 40;

/** Puts a whole fleet around the unit that is measured: units, borrowers, loans, and the gaps of all their days, for a
 *  verdict asks how many others fell silent with it. They have no record of their own: nobody reads it. */
export function fleetAround(dataFolder: string, units: number, from: number, days: number): void {
  const { driver, close } = openDatabase(dataFolder);
  const unit = driver.prepare(
    "insert into unit (serial, model_id, lot_id, place, place_since) select ?, model_id, lot_id, 'on-loan', ? from unit limit 1",
  );
  const borrower = driver.prepare(
    `insert into borrower (id, name, area, address, phone, weight_kg, seat_width_mm, seat_depth_mm, clinician_id, created_at)
     select ?, ?, ?, address, phone, weight_kg, seat_width_mm, seat_depth_mm, clinician_id, created_at from borrower limit 1`,
  );
  const loan = driver.prepare(
    "insert into loan (id, reference, unit_serial, borrower_id, opened_at, started_at) values (?, ?, ?, ?, ?, ?)",
  );
  const gap = driver.prepare(
    "insert into stretch (id, loan_id, kind, starts_at, ends_at, first_seen_at) values (?, ?, 'gap', ?, ?, ?)",
  );
  driver.transaction(() => {
    for (let other = 0; other < units; other++) {
      const serial = `CU-${String(700_000 + other)}`;
      unit.run(serial, from);
      borrower.run(
        `borrower_around_${other}`,
        `Person ${other}`,
        other < peopleAnArea - 1 ? "North" : `Area ${Math.floor(other / peopleAnArea)}`,
      );
      loan.run(`loan_around_${other}`, `F-${other}`, serial, `borrower_around_${other}`, from, from);
      for (let day = other % everyDays; day < days; day += everyDays) {
        const begun =
          from + (day * 24 + ((other * 7) % 24)) * millisecondsIn.hour + (other % 60) * millisecondsIn.minute;
        const hours = (other + day) % 8 === 0 ? longHours : shortHours;
        gap.run(
          `gap_around_${other}_${day}`,
          `loan_around_${other}`,
          begun,
          begun + hours * millisecondsIn.hour,
          begun,
        );
      }
    }
  })();
  close();
}
