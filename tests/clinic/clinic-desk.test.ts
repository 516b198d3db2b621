import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, test, vi } from "vitest";
import { loanId, type StretchId, stretchId } from "../../server/domain/ids.ts";
import type { LocalDay } from "../../server/domain/time/local-day.ts";
import { addDays, dayBounds, instantAt, localDay } from "../../server/domain/time/local-day.ts";
import { loan } from "../../server/store/schema/loans.ts";
import { ledgerDay } from "../../server/store/schema/record.ts";
import { stretch, verdict } from "../../server/store/schema/verdicts.ts";
import { verdictHistory } from "../../server/store/verdicts.ts";
import { type TestServices, testServices, testZone, things } from "../support/cast.ts";
import { type ClinicApp, clinicApp, person } from "./clinic-app.ts";
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

const page: ClinicApp["page"] = (...asked) => clinicApp(services).page(...asked);
const send: ClinicApp["send"] = (...asked) => clinicApp(services).send(...asked);

describe("the worklist", () => {
  test("names the person, the finding, how sure and since when, with one next step", async () => {
    const { status, text } = await page("/clinic");
    expect(status).toBe(200);
    expect(text).toContain("Person One");
    expect(text).toContain("No record from 14:00 to 17:00 on 1 May 2026 (3 h): can't tell yet");
    expect(text).toContain(`href="/clinic/gaps/${gap}"`);
    expect(text).toMatch(/Ring and ask|Have it benched/);
  });

  test("offers no call to anybody that is expected to tell nothing", async () => {
    const [held] = verdictHistory(services.db, gap);
    if (!held) throw new Error("no verdict");
    const [first, ...more] = held.verdict.settle.filter(({ test }) => test === "ring" || test === "visit");
    if (!first || more.length === 0) throw new Error("no tests");
    const useless = { ...first, test: "ring", expectedBits: 0.001, effortMinutes: 1 };
    const worth = { ...first, test: "visit", expectedBits: 0.2, effortMinutes: 90 };
    const offered = async (settle: (typeof held.verdict)["settle"]) => {
      services.db
        .update(verdict)
        .set({ verdict: { ...held.verdict, settle } })
        .run();
      return /class="button"[^>]*>([^<]*)</.exec((await page("/clinic")).text)?.[1];
    };
    expect(await offered([useless, worth])).toBe("Ask for a visit");
    expect(await offered([useless])).toBe("Read why");
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

describe("reliefs by the person's own rhythm", () => {
  test("the narrower range is told as an assumption, with what it would be otherwise", async () => {
    const { text } = await page(person);
    expect(text).toContain(
      "If the unseen time was like their own other days at the same hours (an assumption)",
    );
    expect(text).toContain("a quarter fewer");
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
    expect(text).toMatch(/Due, none seen<\/dt><dd><a [^>]*>0<\/a>/);
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

  test("ranges are kept to a year and a day and nonsense is the usual fortnight", async () => {
    const longAgo = instantAt(addDays(gapDay, -900), 9, 0, testZone);
    services.db.update(loan).set({ startedAt: longAgo }).run();
    expect((await page(`${person}?days=5000`)).text.match(/class="ribbon-date"/g)).toHaveLength(366);
    expect((await page(`${person}?days=never&until=soon`)).text.match(/class="ribbon-date"/g)).toHaveLength(
      14,
    );
  });

  test("two years of record open by as many queries as a fortnight, and no range unpacks more than a year and a day", async () => {
    const asked = async (query: string) => {
      const { driver } = services.database;
      const prepare = driver.prepare.bind(driver);
      const read = vi.spyOn(services.telemetry, "read");
      let queries = 0;
      driver.prepare = (source: string) => {
        queries += 1;
        return prepare(source);
      };
      const { status, text } = await page(`${person}?${query}`);
      driver.prepare = prepare;
      const days = read.mock.calls.reduce((sum, [, { start, end }]) => sum + (end - start) / 86_400_000, 0);
      read.mockRestore();
      expect(status).toBe(200);
      return { queries, days, ribbons: text.match(/class="ribbon-date"/g)?.length };
    };
    // Questions that are prepared once for a connection count the first time only.
    await asked("days=14");
    const few = await asked("days=14");
    services.db
      .update(loan)
      .set({ startedAt: instantAt(addDays(gapDay, -730), 0, 0, testZone) })
      .run();
    const [row] = services.db.select().from(ledgerDay).all();
    const [one] = services.db.select().from(stretch).all();
    if (!row || !one) throw new Error("no day");
    services.db.transaction((tx) => {
      for (let ago = 12; ago < 730; ago += 1) {
        const day = addDays(gapDay, -ago);
        const { start, end } = dayBounds(day, testZone);
        const moved = { ...row, day, startsAt: start, endsAt: end };
        tx.insert(ledgerDay).values(moved).run();
        const times = { startsAt: instantAt(day, 14, 0, testZone), endsAt: instantAt(day, 17, 0, testZone) };
        const id = stretchId(`stretch_${ago}`);
        tx.insert(stretch)
          .values({ ...one, id, ...times })
          .run();
      }
    });
    expect(few.queries).toBeGreaterThan(0);
    expect(await asked("days=14")).toEqual(few);
    const most = await asked("days=800");
    expect(most.queries).toBe(few.queries);
    expect(most.ribbons).toBe(366);
    expect(most.days).toBeLessThan(368);
  });

  test("days are asked for from and to, and earlier and later keep their number", async () => {
    const { text } = await page(`${person}?from=2026-04-25&to=2026-04-28`);
    expect(text.match(/class="ribbon-date"/g)).toHaveLength(4);
    expect(text).toContain("25 April 2026 to 28 April 2026");
    expect(text).toContain(`href="${person}?from=2026-04-21&amp;to=2026-04-24"`);
    expect(text).toContain(`href="${person}?from=2026-04-29&amp;to=2026-05-02"`);
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
    const { text } = await page(person);
    expect(text).toContain("On the ward for a day.");
    expect(text).toContain(
      "Of unseen time noted as away from home it takes anything from no sitting to the usual.",
    );
  });
});
