import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import type { HealthDay } from "../../server/domain/condition/health-day.ts";
import { healthDays } from "../../server/domain/condition/unit-health.ts";
import {
  type AroundFirmware,
  aroundFirmware,
  firmwareMeasures,
} from "../../server/domain/firmware/around-firmware.ts";
import { firmwareSteps } from "../../server/domain/firmware/firmware-steps.ts";
import { unitSerial } from "../../server/domain/ids.ts";
import { signedRank } from "../../server/domain/statistics/signed-rank.ts";
import { instant } from "../../server/domain/units.ts";
import { createApp } from "../../server/http/app.ts";
import { clinicRoutes } from "../../server/http/clinic-routes.tsx";
import { localDaysOf } from "../../server/programme/assessed-span.ts";
import { keepHealthDay } from "../../server/store/health-days.ts";
import { unit } from "../../server/store/schema/equipment.ts";
import { addUnit, type BenchDesk, benchDesk, day } from "../bench/desk.ts";
import reference from "../reference/signed-rank.json" with { type: "json" };
import { live, start } from "../simulated-cushions/cast.ts";
import { signedInAs, testServices, testZone } from "../support/cast.ts";
import { deliver } from "./recorded.ts";

describe("signed ranks", () => {
  // Source: the worked example of Hollander and Wolfe 1999, table 3.1, and scipy's exact test; tests/reference/signed-rank.py.
  it.each(reference.cases)("of $name are those of the book and of scipy", (told) => {
    const { differences, rising, chance, intervals } = told;
    const rank = signedRank(differences, 0.9);
    expect(rank?.rising).toBe(rising);
    expect(rank?.chance).toBeCloseTo(chance, 12);
    for (const interval of intervals ?? []) {
      const shift = signedRank(differences, interval.level)?.shift;
      expect(shift?.low).toBeCloseTo(interval.low, 9);
      expect(shift?.best).toBeCloseTo(interval.best, 9);
      expect(shift?.high).toBeCloseTo(interval.high, 9);
    }
  });

  it("say nothing of no pairs, and of pairs that are all alike that none moved", () => {
    expect(signedRank([], 0.9)).toBeNull();
    expect(signedRank([0, 0, 0], 0.9)).toMatchObject({ differing: 0, chance: 1, shift: { low: 0, high: 0 } });
  });
});

const days = 12;
const came = start + 6 * day;

/** The first greeting after the sixth day tells of new firmware. */
const withNewFirmware = (messages: readonly UplinkMessage[]): UplinkMessage[] =>
  messages.map((message) =>
    message.kind === "hello" && (message.wallSeconds ?? 0) * 1_000 >= came
      ? { ...message, firmware: "2.5.0" }
      : message,
  );

/** What the console keeps of a unit that restarts every few hours from `faultFrom` on, through the wire and the store. */
async function restarting(
  seed: string,
  faultFrom: number,
): Promise<{
  days: HealthDay[];
  around: AroundFirmware /** Restarts by its own account, in the last five days. */;
  wrote: number;
}> {
  const faults = [{ kind: "reset-loop", from: faultFrom, meanHoursBetween: 4 }] as const;
  const { cushion } = live({ days, seed, spec: { faults } });
  const services = testServices({ empty: true });
  const over = { start: instant(start), end: instant(start + days * day) };
  await deliver(services.telemetry, withNewFirmware(cushion.store.messages), over.end);
  const record = await services.telemetry.read(unitSerial(cushion.spec.serial), over);
  const told = healthDays(record, localDaysOf(over, testZone));
  const around = aroundFirmware(told, record.holes);
  const wrote = cushion.store.messages.filter(
    (each) =>
      each.kind === "hello" && each.reset === "watchdog" && (each.wallSeconds ?? 0) * 1_000 >= came + day,
  ).length;
  services.close();
  if (around === null) throw new Error("its firmware changed with days enough at either side");
  return { days: told, around, wrote };
}

const seeds = Array.from({ length: 8 }, (_, index) => `firmware/${index}`);
const measures = firmwareMeasures.filter((measure) => measure !== "reliefs-counted");

describe("firmware that came to many units", () => {
  let desk: BenchDesk;
  let worse: Awaited<ReturnType<typeof restarting>>[];
  beforeAll(async () => {
    desk = benchDesk();
    worse = [];
    for (const seed of seeds) worse.push(await restarting(seed, came));
  }, 120_000);
  afterAll(() => desk.services.close());

  it("and since which all of them restart is named with the step and its interval, and nothing else is", () => {
    const { units, steps } = firmwareSteps(
      worse.map(({ around }) => around),
      measures,
    );
    expect(units).toBe(8);
    expect(steps.filter(({ verdict }) => verdict === "moved").map(({ measure }) => measure)).toEqual([
      "restarts",
    ]);
    const restarts = steps.find(({ measure }) => measure === "restarts");
    expect(restarts?.before).toBe(0);
    const truth = worse.reduce((all, { wrote }) => all + wrote, 0) / worse.length / 5;
    expect(restarts?.step?.low).toBeLessThan(truth);
    expect(restarts?.step?.high).toBeGreaterThan(truth);
  });

  it("is said of no fewer than eight units, however clear it looks", () => {
    const seven = worse.slice(1).map(({ around }) => around);
    expect(firmwareSteps(seven, measures).steps.every(({ verdict }) => verdict === "too-few-units")).toBe(
      true,
    );
  });

  it("is not blamed where the units restarted as often before", async () => {
    const same: AroundFirmware[] = [];
    for (const seed of seeds) same.push((await restarting(seed, start)).around);
    const moved = firmwareSteps(same, firmwareMeasures).steps.filter(({ verdict }) => verdict === "moved");
    expect(moved).toEqual([]);
  }, 120_000);

  it("has a page of the bench that says so, and nothing of reliefs, which are a clinician’s to see", async () => {
    const { services, app } = desk;
    worse.forEach(({ days: kept }, index) => {
      const serial = addUnit(services, `CU-00090${index}`);
      for (const told of kept) keepHealthDay(services.db, serial, { basis: "kept", told });
    });
    services.db.update(unit).set({ firmware: "2.5.0" }).run();
    const { headers } = signedInAs(services, "technician");
    const response = await app.request("/bench/firmware?version=2.5.0", { headers });
    const text = (await response.text()).replaceAll(/<[^>]+>/g, " ").replaceAll(/\s+/g, " ");
    expect(text).toContain("1 of 5 things that were looked at moved in the 8 units that went over to it.");
    expect(text).toMatch(
      /Restarts unasked 8 0\.00 in 24 h \d\.\d\d in 24 h \+\d\.\d\d to \+\d\.\d\d in 24 h Moved/,
    );
    expect(text).not.toMatch(/relief/i);
    const clinic = createApp(services, clinicRoutes(services), { baseUrl: "http://localhost" });
    const answer = await clinic.request("/clinic/calibration", {
      headers: signedInAs(services, "clinician").headers,
    });
    expect(await answer.text()).toMatch(
      /2\.5\.0 came to 8 units with days enough at either side: no step seen in full reliefs counted, /,
    );
  });
});
