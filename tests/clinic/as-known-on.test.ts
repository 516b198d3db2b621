import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { incidentId, type StretchId } from "../../server/domain/ids.ts";
import { addDays, instantAt, type LocalDay } from "../../server/domain/time/local-day.ts";
import { instant } from "../../server/domain/units.ts";
import { createApp } from "../../server/http/app.ts";
import { clinicRoutes } from "../../server/http/clinic-routes.tsx";
import { incidentRoutes } from "../../server/http/incident-routes.tsx";
import { changeSettings } from "../../server/programme/change-settings.ts";
import { recordLearned } from "../../server/programme/record-learned.ts";
import { saveIncident, saveIncidentUnit } from "../../server/store/incidents.ts";
import { ledgerDaysOf, saveLedgerDays } from "../../server/store/ledger-days.ts";
import { settingsInForce } from "../../server/store/settings.ts";
import { stretchesOf, updateStretch } from "../../server/store/stretches.ts";
import { cast, signedInAs, type TestServices, testServices, testZone, things } from "../support/cast.ts";
import { deadColumn, judged, recordedFortnight } from "./recorded-fortnight.ts";

let services: TestServices;
let gap: StretchId;
let gapDay: LocalDay;
const person = `/clinic/people/${things.borrower}`;
/** The last of the days that the pages were looked at before anything came in late. */
const then = "2026-05-03";
const range = "from=2026-04-26&to=2026-05-03";
const hour = 3_600_000;

beforeEach(async () => {
  services = testServices();
  ({ gap, gapDay } = recordedFortnight(services));
  await judged(services);
});
afterEach(() => services.close());

async function page(path: string) {
  const routes = [...clinicRoutes(services), ...incidentRoutes(services)];
  const app = createApp(services, routes, { baseUrl: "http://localhost" });
  const response = await app.request(path, { headers: signedInAs(services, "clinician").headers });
  return (await response.text()).replace(/&#39;/g, "'");
}

/** What the page says, without its addresses: those carry the day it is known on. */
function part(text: string, from: string, to: string): string {
  const start = text.indexOf(from);
  const end = text.indexOf(to, start);
  if (start < 0 || end < 0) throw new Error(`no part from ${from} to ${to}`);
  return text.slice(start, end).replace(/ href="[^"]*"/g, "");
}
const figures = (text: string) => part(text, '<section id="reliefs"', "</section>");
const ribbons = (text: string) => part(text, '<figure class="ribbons"', "</figure>");
const verdictShown = (text: string) => part(text, '<p class="verdict-sentence"', '<section id="history"');
const listed = (text: string) => part(text, '<ol class="worklist"', "</ol>");

/** What was missing comes in: the ledger, the stretch and the verdict change, through what a review calls. */
async function lateDataArrive() {
  services.clock.move(50 * hour);
  const at = services.clock.now();
  const [day] = ledgerDaysOf(services.db, things.loan, gapDay, gapDay);
  const [stretch] = stretchesOf(services.db, things.loan);
  if (!day || !stretch) throw new Error("nothing to fill");
  const runs = day.runs.map((run) =>
    run.state === "no-record" ? { ...run, state: "seated" as const } : run,
  );
  const due = day.due.map((one) => ({ ...one, outcome: "met" as const }));
  saveLedgerDays(services.db, [{ ...day, runs, due, digest: null }], { reviewedAt: at, zone: testZone });
  updateStretch(services.db, { ...stretch, filledAt: at }, at);
  await judged(services);
}

describe("as known on an earlier day", () => {
  test("a person's page gives the very figures and ribbons that it gave then, though late data changed them", async () => {
    const before = await page(`${person}?${range}`);
    await lateDataArrive();
    const now = await page(`${person}?${range}`);
    const again = await page(`${person}?${range}&asKnownOn=${then}`);
    expect(figures(now)).not.toBe(figures(before));
    expect(figures(again)).toBe(figures(before));
    expect(ribbons(again)).toBe(ribbons(before));
    expect(again).toContain("As known at the end of 3 May 2026");
  });

  test("so it does after the unit's sight and the assumptions changed", async () => {
    const before = await page(`${person}?${range}`);
    services.clock.move(50 * hour);
    deadColumn(services, services.clock.now());
    const chosen = { ...settingsInForce(services.db), daysForAFigure: 28 };
    changeSettings(services, cast.administrator.id, chosen);
    expect(figures(await page(`${person}?${range}`))).not.toBe(figures(before));
    expect(figures(await page(`${person}?${range}&asKnownOn=${then}`))).toBe(figures(before));
  });

  test("a day is kept as each day ended, and as it was within a day is not", async () => {
    const figure = async (day: string) => figures(await page(`${person}?${range}&asKnownOn=${day}`));
    const save = (outcome: "met" | "missed") => {
      const [day] = ledgerDaysOf(services.db, things.loan, gapDay, gapDay);
      if (!day) throw new Error("no day");
      const due = day.due.map((one) => ({ ...one, outcome }));
      saveLedgerDays(services.db, [{ ...day, due, digest: null }], {
        reviewedAt: services.clock.now(),
        zone: testZone,
      });
    };
    const shown: string[] = [figures(await page(`${person}?${range}`))];
    services.clock.move(24 * hour);
    save("missed");
    services.clock.move(hour);
    save("met");
    shown.push(figures(await page(`${person}?${range}`)));
    services.clock.move(24 * hour);
    save("missed");
    shown.push(figures(await page(`${person}?${range}`)));
    services.clock.move(24 * hour);
    expect([await figure("2026-05-03"), await figure("2026-05-04"), await figure("2026-05-05")]).toEqual(
      shown,
    );
    expect(new Set(shown).size).toBe(3);
  });

  test("a gap's page tells what was held then, with the figures of then, and nothing can be written there", async () => {
    const before = await page(`/clinic/gaps/${gap}`);
    await lateDataArrive();
    expect(await page(`/clinic/gaps/${gap}`)).toContain("nothing is missing");
    const again = await page(`/clinic/gaps/${gap}?asKnownOn=${then}`);
    const withoutForms = (text: string) =>
      text.replace(/<form.*?<\/form>/gs, "").replace(/<p><a class="button">.*?<\/p>/gs, "");
    expect(withoutForms(verdictShown(again))).toBe(withoutForms(verdictShown(before)));
    expect(again).not.toContain("A gap since filled");
    expect(again).not.toContain('<form class="form" method="post"');
    expect(await page(`/clinic/gaps/${gap}?asKnownOn=2026-05-01`)).toContain("had not been judged by then");
    expect(await page(`/clinic/gaps/${gap}?asKnownOn=2026-04-30`)).toContain("had not been seen, nor judged");
  });

  test("the list is the list of then, though the question was answered since", async () => {
    const before = listed(await page("/clinic"));
    services.clock.move(26 * hour);
    const actor = { kind: "staff", id: cast.clinician.id } as const;
    await recordLearned(services, actor, { stretch: gap, agrees: true, side: "link", text: "The router." });
    expect(await page("/clinic")).toContain("Nobody's record asks a question");
    expect(listed(await page(`/clinic?asKnownOn=${then}`))).toBe(before);
  });

  test("an incident that ended later goes on, with no unit back", async () => {
    const id = incidentId("incident_then");
    const startsAt = instantAt(addDays(gapDay, 1), 12, 0, testZone);
    const back = instant(services.clock.now() + 30 * hour);
    saveIncident(services.db, {
      id,
      startsAt,
      endsAt: back,
      foundAt: startsAt,
      scope: "area",
      scopeName: "North",
      expected: 9,
    });
    saveIncidentUnit(services.db, {
      incidentId: id,
      loanId: things.loan,
      unitSerial: things.lentUnit,
      silentFrom: startsAt,
      backAt: back,
    });
    services.clock.move(48 * hour);
    expect(await page(`/incidents/${id}`)).toContain("1 of 1");
    const text = await page(`/incidents/${id}?asKnownOn=${then}`);
    expect(text).toContain("0 of 1");
    expect(text).toContain("not yet: it is over when four of five are back");
  });

  test("every link to a page of the desk carries the day", async () => {
    await lateDataArrive();
    for (const path of ["/clinic", `${person}`, `/clinic/gaps/${gap}`]) {
      const text = await page(`${path}?asKnownOn=${then}`);
      const main = text.slice(text.indexOf("<main"));
      const links = [...main.matchAll(/href="(\/(?:clinic|incidents)[^"]*)"/g)].map(([, href]) => href);
      const without = links.filter((href) => !href?.includes(`asKnownOn=${then}`));
      // Back to now, and a page about all verdicts there ever were.
      expect(without.filter((href) => href !== "/clinic/calibration")).toHaveLength(1);
      expect(links.length).toBeGreaterThan(without.length);
    }
  });

  test("today, a day to come and nonsense are the page as it is", async () => {
    for (const day of [then, "2027-01-01", "soon"])
      expect(await page(`/clinic/gaps/${gap}?asKnownOn=${day}`)).not.toContain("As known at the end of");
  });
});
