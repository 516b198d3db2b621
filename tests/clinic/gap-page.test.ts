import { afterEach, beforeEach, describe, expect, test } from "vitest";
import type { StretchId } from "../../server/domain/ids.ts";
import { borrower } from "../../server/store/schema/loans.ts";
import { learned, stretch } from "../../server/store/schema/verdicts.ts";
import { cast, type TestServices, testServices } from "../support/cast.ts";
import { type ClinicApp, clinicApp } from "./clinic-app.ts";
import { judged, recordedFortnight } from "./recorded-fortnight.ts";

let services: TestServices;
let gap: StretchId;

beforeEach(async () => {
  services = testServices();
  ({ gap } = recordedFortnight(services));
  await judged(services);
});
afterEach(() => services.close());

const page: ClinicApp["page"] = (...asked) => clinicApp(services).page(...asked);
const send: ClinicApp["send"] = (...asked) => clinicApp(services).send(...asked);
const lastAudit: ClinicApp["lastAudit"] = () => clinicApp(services).lastAudit();

describe("a gap's page", () => {
  test("shows the sentence, the evidence, what would settle it, the bounds and the caution", async () => {
    const { text } = await page(`/clinic/gaps/${gap}`);
    expect(text).toContain("No record from 14:00 to 17:00 on 1 May 2026 (3 h)");
    expect(text).toMatch(/[+−]\d+\.\d decibans/);
    expect(text).toContain("What would settle it");
    expect(text).toContain("Was anything different around then?");
    // 12 met and 6 missed of 24 due, 6 unseen: 12/24 to 18/24, 12/18 of those seen (arithmetic of the bounds).
    expect(text).toContain("50\u00a0% to 75\u00a0%; of those seen, 67\u00a0%");
    expect(text).toContain("A gap says nothing about whether reliefs were done");
  });

  test("late data change the verdict in front of the reader, and the earlier one stays with its dates", async () => {
    services.clock.move(3_600_000);
    services.db.update(stretch).set({ filledAt: services.clock.now() }).run();
    await judged(services);
    const { text } = await page(`/clinic/gaps/${gap}`);
    expect(text).toContain("was recorded late: the link was down, nothing is missing");
    expect(text).toContain("From 3 May 2026, 09:00 until 3 May 2026, 10:00 we held: can't tell yet");
    expect(text).toContain(`hx-sse:connect="/live?topics=${encodeURIComponent(`stretch:${gap}`)}"`);
  });

  test("keeps what was learned beside the verdict, audited without its words, whatever is computed later", async () => {
    const { status } = await send(`/clinic/gaps/${gap}/learned`, {
      agrees: "no",
      side: "link",
      text: "The router was being moved.",
    });
    expect(status).toBe(303);
    expect(lastAudit()?.action).toBe("record-what-was-learned");
    expect(JSON.stringify(lastAudit()?.detail)).not.toContain("router");
    services.clock.move(60_000);
    services.db.update(stretch).set({ filledAt: services.clock.now() }).run();
    await judged(services);
    expect((await page(`/clinic/gaps/${gap}`)).text).toContain("The router was being moved.");
  });

  test("what two clinicians learned of the same gap stays, each in their own words and with their own name", async () => {
    const write = (side: string, text: string, who: "clinician" | "otherClinician") =>
      send(`/clinic/gaps/${gap}/learned`, { agrees: "no", side, text }, who);
    expect((await write("link", "Not theirs to answer yet.", "otherClinician")).status).toBe(404);
    expect((await write("link", "The router was being moved.", "clinician")).status).toBe(303);
    // The person moves to a colleague's list.
    services.db.update(borrower).set({ clinicianId: cast.otherClinician.id }).run();
    services.clock.move(60_000);
    expect((await write("handling", "It stood unplugged.", "otherClinician")).status).toBe(303);
    const { text } = await page(`/clinic/gaps/${gap}`, "otherClinician");
    for (const words of ["The router was being moved.", "It stood unplugged."]) expect(text).toContain(words);
    for (const who of ["clinician", "otherClinician"] as const) expect(text).toContain(cast[who].name);
    expect(services.db.select().from(learned).all()).toHaveLength(2);
  });

  test("asks for a reason and loses nothing that was typed", async () => {
    const { status, text } = await send(`/clinic/gaps/${gap}/learned`, {
      agrees: "no",
      side: "handling",
      text: " ",
    });
    expect(status).toBe(422);
    expect(text).toContain("nothing you typed was lost");
    expect(text).toMatch(/value="handling" selected/);
  });
});
