import fc from "fast-check";
import { expect, it } from "vitest";
import { unitHealth } from "../../server/domain/condition/unit-health.ts";
import { instant } from "../../server/domain/units.ts";
import { healthNow } from "../../server/programme/assess-days.ts";
import { healthOfUnit } from "../../server/programme/assess-unit.ts";
import { assessUnit } from "../../server/programme/assess-units.ts";
import { assessed, localDaysOf } from "../../server/programme/assessed-span.ts";
import { reviewUnit } from "../../server/programme/review-unit.ts";
import { insertLoanNote, type LoanNoteRow } from "../../server/store/loan-notes.ts";
import { healthDay } from "../../server/store/schema/health-days.ts";
import { live, soundCushion, start } from "../simulated-cushions/cast.ts";
import { cast, type TestServices, testServices, testZone, things } from "../support/cast.ts";
import { deliver } from "./recorded.ts";

const unit = things.lentUnit;
const day = 86_400_000;
const days = 8;
const chunk = day / 2;
const wash: LoanNoteRow = {
  id: "note-of-a-wash" as LoanNoteRow["id"],
  loanId: things.loan,
  kind: "washed-cover",
  fromAt: instant(start + 4.3 * day),
  untilAt: null,
  text: "",
  writtenBy: cast.clinician.id,
  writtenAt: instant(start + 7 * day),
};

const { cushion } = live({
  days,
  seed: "a day at a time",
  spec: {
    ...soundCushion,
    serial: unit,
    faults: [{ kind: "column-open", from: start + 5 * day, column: 6 }],
  },
});
/** Half a day of what the unit wrote. */
const chunks = Array.from({ length: (days * day) / chunk }, (_, index) =>
  cushion.store.messages.filter(
    ({ wallSeconds }) => Math.floor((1_000 * (wallSeconds ?? 0) - start) / chunk) === index,
  ),
);

interface Arrival {
  readonly index: number;
  readonly at: number;
  readonly next: "nothing" | "assess" | "review" | "both";
}

/** Each half day comes when it happened, or up to days late; sometimes somebody looks. */
const arrivals = fc
  .array(
    fc.record({
      late: fc.constantFrom(0, 0, 0, 0.3, 1.2, 4),
      next: fc.constantFrom("nothing", "assess", "review", "both") satisfies fc.Arbitrary<Arrival["next"]>,
    }),
    { minLength: chunks.length, maxLength: chunks.length },
  )
  .map((drawn) =>
    drawn
      .map(
        ({ late, next }, index): Arrival => ({ index, at: start + (index + 1) * chunk + late * day, next }),
      )
      .sort((a, b) => a.at - b.at || a.index - b.index),
  );

async function arrive(services: TestServices, { index, at, next }: Arrival): Promise<void> {
  services.clock.set(instant(at));
  await deliver(services.telemetry, chunks[index] ?? [], instant(at));
  if (next === "assess" || next === "both") await assessUnit(services, unit);
  if (next === "review" || next === "both") await reviewUnit(services, unit);
}

/** All at once, from what the store holds, with nothing kept. */
async function fromScratch(services: TestServices) {
  const now = services.clock.now();
  const { over, changes, ...own } = assessed(services, unit, now);
  const record = await services.telemetry.read(unit, over);
  return unitHealth(record, over, localDaysOf(over, testZone), now, changes, own);
}

it("health told a day at a time is the same to the last digit as from the whole record, whatever comes late", async () => {
  await fc.assert(
    fc.asyncProperty(arrivals, fc.boolean(), async (order, washed) => {
      const services = testServices();
      try {
        for (const arrival of order) await arrive(services, arrival);
        // Written down days after it was done.
        if (washed) insertLoanNote(services.db, wash);
        services.clock.set(instant(start + 16 * day));
        const { health: told, keepDays } = await healthNow(services, unit);
        services.db.transaction(keepDays);
        expect(told).toEqual(await fromScratch(services));
        expect(services.db.select().from(healthDay).all().length).toBeGreaterThan(6);
        // Out of what was kept, nothing read but the day that goes on.
        expect(await healthOfUnit(services, unit)).toEqual(told);
      } finally {
        services.close();
      }
    }),
    { numRuns: 3, endOnFailure: true },
  );
}, 300_000);
