import { desc, eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { loanId, type StretchId } from "../../server/domain/ids.ts";
import type { LocalDay } from "../../server/domain/time/local-day.ts";
import { addDays, dayBounds, instantAt, localDay, localDayOf } from "../../server/domain/time/local-day.ts";
import { createApp } from "../../server/http/app.ts";
import { clinicRoutes } from "../../server/http/clinic-routes.tsx";
import { reliefPlansOf } from "../../server/store/relief-plans.ts";
import { audit } from "../../server/store/schema/audit.ts";
import { loan } from "../../server/store/schema/loans.ts";
import { ledgerDay } from "../../server/store/schema/record.ts";
import { learned, stretch } from "../../server/store/schema/verdicts.ts";
import { verdictHistory } from "../../server/store/verdicts.ts";
import { signedInAs, type TestServices, testServices, testZone, things } from "../support/cast.ts";
import { deadColumn, judged, recordedFortnight } from "./recorded-fortnight.ts";

let services: TestServices;
let gap: StretchId;
let gapDay: LocalDay;

beforeEach(async () => {
  services = testServices();
  ({ gap, gapDay } = recordedFortnight(services));
  await judged(services);
});
afterEach(() => services.close());

const app = () => createApp(services, clinicRoutes(services), { baseUrl: "http://localhost" });
const person = `/clinic/people/${things.borrower}`;

async function page(path: string, who: "clinician" | "otherClinician" = "clinician") {
  const response = await app().request(path, { headers: signedInAs(services, who).headers });
  return { status: response.status, text: (await response.text()).replace(/&#39;/g, "'") };
}
async function send(
  path: string,
  fields: Record<string, string | string[]>,
  who: "clinician" | "otherClinician" = "clinician",
) {
  const response = await app().request(path, signedInAs(services, who).post(fields));
  return { status: response.status, text: (await response.text()).replace(/&#39;/g, "'") };
}
const lastAudit = () => services.db.select().from(audit).orderBy(desc(audit.id)).limit(1).get();

describe("the worklist", () => {
  test("names the person, the finding, how sure and since when, with one next step", async () => {
    const { status, text } = await page("/clinic");
    expect(status).toBe(200);
    expect(text).toContain("Person One");
    expect(text).toContain("No record from 14:00 to 17:00 on 1 May 2026 (3 h): can't tell yet");
    expect(text).toContain(`href="/clinic/gaps/${gap}"`);
    expect(text).toMatch(/Ring and ask|Have it benched/);
  });

  test("an empty list says so, and another clinician's people are not on it", async () => {
    const { text } = await page("/clinic", "otherClinician");
    expect(text).toContain("Nobody's record asks a question");
    expect(text).not.toContain("Person One");
  });

  test("a question that was answered leaves the list", async () => {
    await send(`/clinic/gaps/${gap}/learned`, {
      agrees: "no",
      side: "link",
      text: "The router was being moved.",
    });
    expect((await page("/clinic")).text).toContain("Nobody's record asks a question");
  });
});

describe("as known on an earlier day", () => {
  test("a gap's page tells what was held then, and says that it does", async () => {
    services.clock.move(2 * 86_400_000);
    services.db.update(stretch).set({ filledAt: services.clock.now() }).run();
    await judged(services);
    expect((await page(`/clinic/gaps/${gap}`)).text).toContain("nothing is missing");
    const { text } = await page(`/clinic/gaps/${gap}?known=2026-05-03`);
    expect(text).toContain("As known at the end of 3 May 2026");
    expect(text).toContain("can't tell yet");
    expect(text).not.toContain("nothing is missing");
    expect(text).not.toContain("A gap since filled");
    const before = await page(`/clinic/gaps/${gap}?known=2026-05-01`);
    expect(before.text).toContain("had not been judged by then");
  });

  test("today, a day to come and nonsense are the page as it is", async () => {
    for (const known of ["2026-05-03", "2027-01-01", "soon"])
      expect((await page(`/clinic/gaps/${gap}?known=${known}`)).text).not.toContain("As known at the end of");
  });
});

describe("reliefs by the person's own rhythm", () => {
  test("the narrower range is told as an assumption, with what it would be otherwise", async () => {
    const { text } = await page(person);
    expect(text).toContain(
      "If the unseen time was like their own other days at the same hours (an assumption)",
    );
    expect(text).toContain("a quarter fewer");
  });
});

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

describe("a person's page", () => {
  test("shows a ribbon a day with the same as a table, and the share met as a range where much went unseen", async () => {
    const { text } = await page(`${person}?days=7`);
    expect(text.match(/class="ribbon-day(?: monday)?"/g)).toHaveLength(7);
    expect(text).toContain("The same as a table");
    expect(text).toContain(`No record from 14:00 to 17:00 on 1 May 2026`);
    expect(text).toContain("of the due reliefs we could see were met");
    expect(text).toContain("Observed share");
  });

  test("reliefs that the unit could not have seen are never counted as missed, and the range says so", async () => {
    deadColumn(services, dayBounds(addDays(gapDay, -7), testZone).start);
    const { text } = await page(`${person}?days=7`);
    expect(text).toContain("The unit could not see most leans to the left (column 7, right side).");
    expect(text).toMatch(/Due, none seen<\/dt><dd>0<\/dd>/);
    expect(text).toContain("too much went unseen for one number");
  });

  test("a swap shows as a seam, and the figure says that two units recorded it", async () => {
    const old = services.db.select().from(loan).get();
    if (!old) throw new Error("no loan");
    const swappedAt = instantAt(addDays(gapDay, 1), 11, 0, testZone);
    services.db.update(loan).set({ endedAt: swappedAt }).run();
    const next = { ...old, id: loanId("loan_next"), reference: "L-0002", unitSerial: things.stockUnit };
    services.db
      .insert(loan)
      .values({ ...next, openedAt: swappedAt, startedAt: swappedAt, followsLoanId: old.id })
      .run();
    const [row] = services.db
      .select()
      .from(ledgerDay)
      .where(eq(ledgerDay.day, addDays(gapDay, 1)))
      .all();
    if (!row) throw new Error("no day");
    services.db
      .insert(ledgerDay)
      .values({ ...row, loanId: next.id })
      .run();
    const { text } = await page(`${person}?days=7`);
    expect(text).toContain("unit changed 11:00");
    expect(text).toContain("Two units recorded these days");
  });

  test("two recorded days give a range and no figure", async () => {
    const { text } = await page(`${person}?days=2`);
    expect(text).toContain("Not enough was seen for a figure: 1 of the 4 days it takes");
  });

  test("a day on which the clocks go back has 25 hours and says so", async () => {
    const day = localDay("2026-10-25");
    if (!day) throw new Error("no day");
    services.clock.set(instantAt(day, 12, 0, testZone));
    expect((await page(`${person}?days=1`)).text).toContain("25 h, clocks change");
  });

  test("days before anything was lent are left out", async () => {
    expect((await page(`${person}?days=28`)).text.match(/class="ribbon-date"/g)).toHaveLength(14);
  });

  test("ranges are kept to 92 days and nonsense is the usual fortnight", async () => {
    const longAgo = instantAt(addDays(gapDay, -300), 9, 0, testZone);
    services.db.update(loan).set({ startedAt: longAgo }).run();
    expect((await page(`${person}?days=5000`)).text.match(/class="ribbon-date"/g)).toHaveLength(92);
    expect((await page(`${person}?days=never&until=soon`)).text.match(/class="ribbon-date"/g)).toHaveLength(
      14,
    );
  });

  test("a hospital note is saved, gaps over it are judged again, and the earlier verdict is kept", async () => {
    const { status } = await send(`${person}/notes`, {
      kind: "hospital",
      noteFrom: "2026-05-01T12:00",
      until: "2026-05-01T18:00",
      text: "On the ward for a day.",
    });
    expect(status).toBe(303);
    const history = verdictHistory(services.db, gap);
    expect(history).toHaveLength(2);
    expect(history[0]?.verdict.evidence.some(({ sentence }) => sentence.includes("a stay in hospital"))).toBe(
      true,
    );
    expect((await page(person)).text).toContain("On the ward for a day.");
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
