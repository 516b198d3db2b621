import { afterEach, beforeEach, expect, test } from "vitest";
import { loanId } from "../../server/domain/ids.ts";
import { localDayOf } from "../../server/domain/time/local-day.ts";
import { millisecondsIn } from "../../server/domain/units.ts";
import { endLoan } from "../../server/programme/end-loan.ts";
import { planVisit } from "../../server/programme/visit-plan.ts";
import { loan } from "../../server/store/schema/loans.ts";
import { stretchesOf } from "../../server/store/stretches.ts";
import { openTestRequests } from "../../server/store/test-requests.ts";
import { currentVerdict, verdictHistory } from "../../server/store/verdicts.ts";
import { cast, type TestServices, testServices, things } from "../support/cast.ts";
import { desks } from "./desks.ts";
import { dayOfLife, livedFrom, sentBy, steadyLife, workedThroughAt } from "./lived-unit.ts";

const { hour } = millisecondsIn;
const coordinator = { kind: "staff", id: cast.coordinator.id } as const;
const person = `/clinic/people/${things.borrower}`;
let services: TestServices;
let desk: Awaited<ReturnType<typeof desks>>;

beforeEach(async () => {
  services = testServices();
  services.db.update(loan).set({ startedAt: livedFrom }).run();
  desk = await desks(services);
});
afterEach(() => services.close());

const workedThrough = (sent: Parameters<typeof workedThroughAt>[2], days: number) =>
  workedThroughAt(services, things.lentUnit, sent, dayOfLife(days));
const gaps = () =>
  stretchesOf(services.db, things.loan, { start: livedFrom, end: services.clock.now() }).filter(
    ({ kind }) => kind === "gap",
  );

test("no one in: doorstep ladder, admission discovered, gap reclassified", async () => {
  await workedThrough(sentBy(steadyLife("no one in", { days: 12 }), things.lentUnit), 14);
  const gap = gaps().at(-1);
  const before = gap && currentVerdict(services.db, gap.id)?.verdict;
  expect(gap?.end).toBeNull();
  expect(before?.outcome).not.toBe("person");
  const planned = planVisit(services, coordinator, {
    loan: things.loan,
    task: { kind: "collection" },
    day: localDayOf(services.clock.now(), services.zone),
    doneBy: cast.technician.id,
    reason: "due back",
  });
  if (planned.kind === "refused" || !gap) throw new Error("nothing planned");
  const visit = `/stores/visits/${planned.visit}`;
  const form = await desk.read("coordinator", visit);
  for (const step of [
    "Rang the second number",
    "Waited ten minutes",
    "nothing clinical",
    "Asked the hospital",
  ])
    expect(form).toContain(step);
  expect((await desk.send("coordinator", `${visit}/no-access`, { steps: "rang" })).status).toBe(422);
  services.clock.move(hour);
  const sent = await desk.send("coordinator", `${visit}/no-access`, {
    steps: ["rang", "second-number", "asked-hospital"],
    found: "in-hospital",
    since: "2026-05-16T04:00",
  });
  expect(sent.status).toBe(303);
  const after = currentVerdict(services.db, gap.id)?.verdict;
  expect(after?.causes[0]?.cause).toBe("away");
  expect(after?.probability).toBeGreaterThan(before?.sides.person ?? 1);
  expect(verdictHistory(services.db, gap.id).map(({ verdict }) => verdict)).toContainEqual(before);
  expect(await desk.read("clinician", `/clinic/gaps/${gap.id}`)).toContain("a note of a stay in hospital");
  expect(await desk.read("coordinator", "/stores")).toContain("noted as in hospital");
  const notes = await desk.read("clinician", person);
  expect(notes).toContain("Rang the second number; Asked the hospital or the contacts");
  expect(notes).not.toMatch(/refused|non-compliant|failed/i);
});

test("late data, new borrower: old borrower's upload never appears in the new record", async () => {
  const life = sentBy(steadyLife("late upload", { days: 6 }), things.lentUnit);
  const kept = life.filter(({ receivedAt }) => receivedAt > dayOfLife(4));
  await workedThrough(
    life.filter((one) => !kept.includes(one)),
    6,
  );
  const end = { reason: "no longer needed", surface: "not-needed", unitTo: "quarantine" } as const;
  expect(endLoan(services, coordinator, { loan: things.loan, ...end }).kind).toBe("ended");
  const next = loanId("loan_next");
  services.db
    .insert(loan)
    .values({
      id: next,
      reference: "L-0002",
      unitSerial: things.lentUnit,
      borrowerId: things.otherBorrower,
      openedAt: dayOfLife(7),
      startedAt: dayOfLife(7),
    })
    .run();
  services.clock.set(dayOfLife(8));
  await workedThrough([], 8);
  const pages = async () => ({
    old: await desk.read("clinician", `${person}?from=2026-05-08&to=2026-05-09`),
    fresh: await desk.read("otherClinician", `/clinic/people/${things.otherBorrower}`),
  });
  const before = await pages();
  expect(before.old).toMatch(/Due and met\s*0/);
  // The next borrower's relay is in reach: what the unit had kept comes in, all of it, in the new loan.
  await services.telemetry.append(kept.map((one) => ({ ...one, receivedAt: services.clock.now() })));
  await workedThrough([], 8);
  const after = await pages();
  expect(after.old).toMatch(/Due and met\s*[1-9]/);
  expect(after.fresh).toBe(before.fresh);
  expect(stretchesOf(services.db, next, { start: livedFrom, end: services.clock.now() })).toHaveLength(1);
});

test("not enough seen: two valid days yields range and refusal to trend", async () => {
  const life = sentBy(steadyLife("two days", { days: 2 }), things.lentUnit);
  const lost = { start: dayOfLife(1) + 5 * hour, end: dayOfLife(1) + 8 * hour };
  const seen = life.filter(({ receivedAt }) => receivedAt < lost.start || receivedAt > lost.end);
  await workedThrough(seen, 2);
  const page = await desk.read("clinician", `${person}?from=2026-05-04&to=2026-05-05`);
  const [, low, high] =
    /Not enough was seen for a figure: .*? lies between (\d+)\s% and (\d+)\s%/.exec(page) ?? [];
  expect(Number(low)).toBeLessThan(Number(high));
  expect(page).toMatch(/Not enough for a trend: [12] days? of the \d+ it takes/);
  expect(page).not.toMatch(/\d+\s% of the due reliefs (we could see )?were/);
});

test("bench says no fault: prior verdict downgraded, calibration updated", async () => {
  const life = steadyLife("fades", {
    days: 24,
    faults: () => [{ kind: "capacity-fade", from: dayOfLife(1), sharePerDay: 0.05, downTo: 0.2 }],
  });
  await workedThrough(sentBy(life, things.lentUnit), 24);
  const held = gaps().map((gap) => ({ gap, verdict: currentVerdict(services.db, gap.id)?.verdict }));
  const settled = held.findLast(({ verdict }) => verdict?.outcome === "device");
  if (!settled) throw new Error("no verdict on the unit's side");
  const page = `/clinic/gaps/${settled.gap.id}`;
  expect((await desk.send("clinician", `${page}/tests`, { test: "bench" })).status).toBe(303);
  expect(await desk.read("clinician", "/clinic/calibration")).toContain("No verdict on the unit’s side");
  services.clock.move(hour);
  const [asked] = openTestRequests(services.db, "bench");
  await desk.send("technician", `/bench/tests/${asked?.id}`, { result: "sound" });
  const after = currentVerdict(services.db, settled.gap.id)?.verdict;
  const worn = (held: typeof after) =>
    held?.causes.find(({ cause }) => cause === "battery-worn")?.probability ?? 1;
  expect(after?.sides.device).toBeLessThan(settled.verdict?.sides.device ?? 0);
  // From all but certain to under what settles it.
  expect(worn(settled.verdict)).toBeGreaterThan(0.95);
  expect(worn(after)).toBeLessThan(0.8);
  expect(after?.sides.person).toBeLessThan(0.05);
  const shown = await desk.read("clinician", page);
  expect(shown).toMatch(/until .* we held: .*device side/i);
  expect(shown).toContain("Measured on the bench");
  expect(await desk.read("clinician", "/clinic/calibration")).toContain(
    "Of 1 verdict on the unit’s side that the bench tested, 1 had no fault found",
  );
});
