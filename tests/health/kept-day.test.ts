import { serialize } from "node:v8";
import { deflateRawSync } from "node:zlib";
import fc from "fast-check";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import type { HealthDay } from "../../server/domain/condition/health-day.ts";
import { healthDays } from "../../server/domain/condition/unit-health.ts";
import { breakOffReasons, reliefKinds } from "../../server/domain/record/unit-record.ts";
import { instant, percent, probability, seconds } from "../../server/domain/units.ts";
import { healthNow } from "../../server/programme/assess-days.ts";
import { assessed, localDaysOf } from "../../server/programme/assessed-span.ts";
import { dayBytes, dayOf } from "../../server/store/health-day-bytes.ts";
import { healthDay } from "../../server/store/schema/health-days.ts";
import { live, soundCushion, start } from "../simulated-cushions/cast.ts";
import { type TestServices, testServices, testZone, things } from "../support/cast.ts";
import { deliver } from "./recorded.ts";

const unit = things.lentUnit;
const days = 9;
const day = 86_400_000;
const { cushion } = live({ days, seed: "days that are kept", spec: { ...soundCushion, serial: unit } });

const reliefs = fc.array(
  fc.record(
    {
      at: fc.maxSafeNat().map(instant),
      receivedAt: fc.maxSafeNat().map(instant),
      kind: fc.constantFrom(...reliefKinds),
      hold: fc.nat(100_000).map(seconds),
      depth: fc.double({ min: 0, max: 1, noNaN: true }).map(probability),
      outcome: fc.constantFrom("complete" as const, "broken-off" as const),
      prompted: fc.boolean(),
      brokenOff: fc.constantFrom(...breakOffReasons),
      sideLoad: fc.record({ left: fc.nat(300).map(percent), right: fc.nat(300).map(percent) }),
    },
    { requiredKeys: ["at", "receivedAt", "kind", "hold", "depth", "outcome", "prompted"] },
  ),
);

let services: TestServices;
beforeEach(async () => {
  services = testServices();
  services.clock.set(instant(start + days * day));
  await deliver(services.telemetry, cushion.store.messages, services.clock.now());
});
afterEach(() => services.close());

async function daysTold(): Promise<readonly HealthDay[]> {
  const { over, changes } = assessed(services, unit, services.clock.now());
  return healthDays(await services.telemetry.read(unit, over), localDaysOf(over, testZone), changes);
}

describe("a kept day", () => {
  it("comes back to the last digit, whatever of it is missing, while its baseline forms and after", async () => {
    const told = await daysTold();
    const kinds = new Set(told.map(({ grid }) => grid?.baseline.kind));
    expect([...kinds].sort()).toEqual(["formed", "forming"]);
    for (const each of told) {
      expect(dayOf(dayBytes(each))).toEqual(each);
      expect(dayOf(dayBytes({ ...each, grid: null, load: null }))).toEqual({
        ...each,
        grid: null,
        load: null,
      });
      // As a driver may hand it over: in the middle of other bytes.
      const bytes = dayBytes(each);
      const inside = Buffer.concat([Buffer.alloc(3), bytes]).subarray(3);
      expect(dayOf(inside)).toEqual(each);
    }
  });

  it("keeps every relief as it was told, with and without what a unit may leave out", async () => {
    const [first] = await daysTold();
    if (first === undefined) throw new Error("nothing was told");
    fc.assert(
      fc.property(reliefs, (some) => {
        expect(dayOf(dayBytes({ ...first, reliefs: some })).reliefs).toEqual(some);
      }),
    );
  });

  it("that an older version kept in its own way is worked out anew from the record, and kept in today's", async () => {
    const { health, keepDays } = await healthNow(services, unit);
    services.db.transaction(keepDays);
    const before = services.db.select().from(healthDay).all();
    expect(before.length).toBeGreaterThan(days - 2);
    // Version 6 and the ones before it: a structured clone, deflated.
    const [told] = await daysTold();
    const asBefore = deflateRawSync(serialize({ ...told, load: 1_000 }), { level: 1 });
    services.db.update(healthDay).set({ version: 6, told: asBefore }).run();
    const again = await healthNow(services, unit);
    expect(again.health).toEqual(health);
    services.db.transaction(again.keepDays);
    expect(services.db.select().from(healthDay).all()).toEqual(before);
  });
});
