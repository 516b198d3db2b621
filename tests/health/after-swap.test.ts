import { eq } from "drizzle-orm";
import { afterEach, beforeEach, expect, it } from "vitest";
import { loanId } from "../../server/domain/ids.ts";
import { instant } from "../../server/domain/units.ts";
import { createApp } from "../../server/http/app.ts";
import { unitRoutes } from "../../server/http/bench-unit-routes.tsx";
import { clinicRoutes } from "../../server/http/clinic-routes.tsx";
import { assessUnit } from "../../server/programme/assess-units.ts";
import { judgeFinding } from "../../server/programme/judge-finding.ts";
import { toldBySwapOfUnit } from "../../server/programme/told-by-swap.ts";
import { openFindingsOf } from "../../server/store/findings.ts";
import { loan } from "../../server/store/schema/loans.ts";
import { live, soundCushion, start, steadyHabits, steadyPerson } from "../simulated-cushions/cast.ts";
import { cast, signedInAs, type TestServices, testServices, things } from "../support/cast.ts";
import { deliver } from "./recorded.ts";

const day = 86_400_000;
const fellAt = start + 10 * day;
const swappedAt = instant(start + 19 * day);
const now = instant(start + 23 * day);

const weighing = (weightKilograms: number, serial: string, days: number) =>
  live({
    days,
    seed: "swap",
    person: { ...steadyPerson, habits: { ...steadyHabits, weightKilograms } },
    spec: { ...soundCushion, serial },
  }).cushion.store.messages;

const between = (messages: ReturnType<typeof weighing>, from: number, until: number) =>
  messages.filter(
    ({ wallSeconds }) => (wallSeconds ?? 0) * 1_000 >= from && (wallSeconds ?? 0) * 1_000 < until,
  );

let services: TestServices;
beforeEach(() => {
  services = testServices();
});
afterEach(() => services.close());

/** The load falls by a seventh on one unit, which is then swapped for another. */
async function swapAfterFall(weightOnFresh: number): Promise<void> {
  const { db, telemetry, clock } = services;
  db.update(loan)
    .set({ openedAt: instant(start), startedAt: instant(start) })
    .where(eq(loan.id, things.loan))
    .run();
  const heavy = between(weighing(72, things.lentUnit, 10), 0, fellAt);
  const light = between(weighing(62, things.lentUnit, 19), fellAt, swappedAt);
  await deliver(
    telemetry,
    [...heavy, ...light].map((message, sequence) => ({ ...message, sequence })),
    swappedAt,
  );
  clock.set(swappedAt);
  await assessUnit(services, things.lentUnit);
  db.update(loan).set({ endedAt: swappedAt, endReason: "swap" }).where(eq(loan.id, things.loan)).run();
  db.insert(loan)
    .values({
      id: loanId("loan_after"),
      reference: "L-0002",
      unitSerial: things.stockUnit,
      borrowerId: things.borrower,
      openedAt: swappedAt,
      startedAt: swappedAt,
      followsLoanId: things.loan,
    })
    .run();
  await deliver(telemetry, between(weighing(weightOnFresh, things.stockUnit, 23), swappedAt, now), now);
  clock.set(now);
  await assessUnit(services, things.stockUnit);
}

async function page(path: string, who: "clinician" | "technician"): Promise<string> {
  const routes = who === "clinician" ? clinicRoutes(services) : unitRoutes(services);
  const app = createApp(services, routes, { baseUrl: "http://localhost" });
  return (await app.request(path, { headers: signedInAs(services, who).headers })).text();
}

it("a fresh cushion that keeps the lower load points to the person, on the clinician's page and both units'", async () => {
  await swapAfterFall(62);
  expect(openFindingsOf(services.db, things.lentUnit).map(({ kind }) => kind)).toContain("gain-or-weight");
  const told = await toldBySwapOfUnit(services, things.stockUnit);
  expect(told?.person).toBeGreaterThan(0.9);
  expect(await toldBySwapOfUnit(services, things.lentUnit)).toEqual(told);
  const clinic = await page(`/clinic/people/${things.borrower}`, "clinician");
  expect(clinic).toContain("What the swap tells");
  expect(clinic).toContain(
    `Two cushions agree: it is weight or the way of sitting, not unit ${things.lentUnit}`,
  );
  for (const unit of [things.lentUnit, things.stockUnit]) {
    const bench = await page(`/bench/units/${unit}`, "technician");
    expect(bench).toContain("After the swap: On unit");
    expect(bench).not.toContain("Person One");
  }
});

it("a load that is back on the fresh cushion points to the one that went; refuted or without a swap nothing is said", async () => {
  await swapAfterFall(72);
  const told = await toldBySwapOfUnit(services, things.stockUnit);
  expect(told?.person).toBeLessThan(0.1);
  expect(await page(`/clinic/people/${things.borrower}`, "clinician")).toContain(
    "The load is back: it was unit",
  );
  const finding = openFindingsOf(services.db, things.lentUnit).find(({ kind }) => kind === "gain-or-weight");
  if (finding === undefined) throw new Error("no finding");
  await judgeFinding(
    services,
    { kind: "staff", id: cast.technician.id },
    { id: finding.id, judgement: "refuted" },
  );
  expect(await toldBySwapOfUnit(services, things.stockUnit)).toBeNull();
});
