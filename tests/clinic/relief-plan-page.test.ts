import { afterEach, beforeEach, describe, expect, test } from "vitest";
import type { StretchId } from "../../server/domain/ids.ts";
import type { LocalDay } from "../../server/domain/time/local-day.ts";
import { instantAt, localDay, localDayOf } from "../../server/domain/time/local-day.ts";
import { reliefPlansOf } from "../../server/store/relief-plans.ts";
import { learned } from "../../server/store/schema/verdicts.ts";
import { type TestServices, testServices, testZone, things } from "../support/cast.ts";
import { type ClinicApp, clinicApp, person } from "./clinic-app.ts";
import { judged, recordedFortnight } from "./recorded-fortnight.ts";

let services: TestServices;
let gap: StretchId;
let gapDay: LocalDay;

beforeEach(async () => {
  services = testServices();
  ({ gap, gapDay } = recordedFortnight(services));
  await judged(services);
});
afterEach(() => services.close());

const page: ClinicApp["page"] = (...asked) => clinicApp(services).page(...asked);
const send: ClinicApp["send"] = (...asked) => clinicApp(services).send(...asked);
const lastAudit: ClinicApp["lastAudit"] = () => clinicApp(services).lastAudit();

describe("another clinician's people", () => {
  test.each([person, "gap"])("can't be opened: %s reads like an address that doesn't exist", async (path) => {
    const address = path === "gap" ? `/clinic/gaps/${gap}` : path;
    expect((await page(address, "otherClinician")).status).toBe(404);
    expect((await page(address)).status).toBe(200);
  });

  test("can't be changed either", async () => {
    const today = localDayOf(services.clock.now(), testZone);
    const plan = { from: today, interval: "60", hold: "60", kinds: ["lift"] };
    expect((await send(`${person}/plan`, plan, "otherClinician")).status).toBe(404);
    expect(
      (await send(`/clinic/gaps/${gap}/learned`, { agrees: "yes", text: "x" }, "otherClinician")).status,
    ).toBe(404);
    expect(
      (
        await send(
          `${person}/notes`,
          { kind: "hospital", noteFrom: "2026-05-01T10:00", text: "x" },
          "otherClinician",
        )
      ).status,
    ).toBe(404);
    expect(reliefPlansOf(services.db, things.borrower)).toHaveLength(1);
    expect(services.db.select().from(learned).all()).toHaveLength(0);
  });
});

describe("a relief plan", () => {
  const plan = { interval: "60", hold: "90", kinds: ["lift", "tilt"] };

  test("becomes a new version from its day; the old one still judges the past", async () => {
    const { status } = await send(`${person}/plan`, { ...plan, from: "2026-05-05" });
    expect(status).toBe(303);
    const versions = reliefPlansOf(services.db, things.borrower);
    expect(versions.map(({ version, interval }) => [version, interval])).toEqual([
      [1, 30],
      [2, 60],
    ]);
    expect(versions[1]?.validFrom).toBe(instantAt(localDay("2026-05-05") ?? gapDay, 0, 0, testZone));
    expect(lastAudit()).toMatchObject({ action: "set-relief-plan", subject: `person:${things.borrower}` });
  });

  test("can't start in the past, has no silent default, and a mistake loses nothing", async () => {
    const past = await send(`${person}/plan`, { ...plan, from: "2026-05-01" });
    expect(past.status).toBe(422);
    expect(past.text).toContain("what is past stays judged by the plan it had");
    expect(past.text).toContain('value="90"');
    const empty = await send(`${person}/plan`, {});
    expect(empty.status).toBe(422);
    expect(empty.text).toContain("Choose at least one kind of relief.");
    expect(reliefPlansOf(services.db, things.borrower)).toHaveLength(1);
  });
});
