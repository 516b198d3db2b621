import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { addDays, dayBounds, type LocalDay } from "../../server/domain/time/local-day.ts";
import { createApp } from "../../server/http/app.ts";
import { clinicRoutes } from "../../server/http/clinic-routes.tsx";
import { ledgerDaysOf, saveLedgerDays } from "../../server/store/ledger-days.ts";
import { signedInAs, type TestServices, testServices, testZone, things } from "../support/cast.ts";
import { deadColumn, judged, recordedFortnight } from "./recorded-fortnight.ts";

let services: TestServices;
let gapDay: LocalDay;
let gap: string;
const person = `/clinic/people/${things.borrower}`;

beforeEach(async () => {
  services = testServices();
  ({ gap, gapDay } = recordedFortnight(services));
  await judged(services);
});
afterEach(() => services.close());

async function page(path: string, who: "clinician" | "otherClinician" = "clinician") {
  const app = createApp(services, clinicRoutes(services), { baseUrl: "http://localhost" });
  const response = await app.request(path, { headers: signedInAs(services, who).headers });
  const text = (await response.text()).replaceAll("&#39;", "'").replaceAll("&amp;", "&");
  return { status: response.status, text };
}

/** What a fact of the person's page says, and where it leads. */
function fact(text: string, name: string): { readonly shown: string; readonly href: string } {
  const found = new RegExp(`<dt>${name}</dt><dd>.*?<a href="([^"]*)">([^<]*)</a>`, "s").exec(text);
  if (!found?.[1] || found[2] === undefined) throw new Error(`no link at ${name}`);
  return { shown: found[2], href: found[1] };
}

/** Lines of a figure over all its pages, with what they are said to come to. */
async function lines(href: string) {
  const rows: string[] = [];
  let sum = "";
  for (let next: string | undefined = href; next !== undefined; ) {
    const { text } = await page(next);
    const body = /<tbody>(.*?)<\/tbody>/s.exec(text)?.[1] ?? "";
    rows.push(...[...body.matchAll(/<tr>(.*?)<\/tr>/gs)].map(([, row]) => row ?? ""));
    sum = /<p class="sentence">(.*?)<\/p>/s.exec(text)?.[1] ?? "";
    next = /href="([^"]*)" rel="next"/.exec(text)?.[1];
  }
  return { rows, sum };
}

/** Minutes of the times that the rows name. */
const minutesOf = (rows: readonly string[]): number =>
  rows.reduce((sum, row) => {
    const [, fromHour, fromMinute, hour, minute] = /(\d\d):(\d\d) to (\d\d):(\d\d)/.exec(row) ?? [];
    return sum + (Number(hour) - Number(fromHour)) * 60 + Number(minute) - Number(fromMinute);
  }, 0);

describe("every figure opens the lines it was made of", () => {
  test.each([
    ["Due in all", ""],
    ["Due and met", "due and met"],
    ["Due, none seen", "due, none seen"],
    ["Can't be told", "can't be told"],
  ])("%s: as many lines, each of that outcome, over more than one page", async (name, what) => {
    const { shown, href } = fact((await page(person)).text, name);
    const { rows } = await lines(href);
    expect(Number(shown)).toBeGreaterThan(0);
    expect(rows).toHaveLength(Number(shown));
    for (const row of rows) expect(row).toContain(what);
  });

  test("met, missed and not assessable together are the due ones, and no line is in two", async () => {
    const { text } = await page(person);
    const of = async (name: string) => (await lines(fact(text, name).href)).rows;
    const [due, met, missed, untold] = await Promise.all(
      ["Due in all", "Due and met", "Due, none seen", "Can't be told"].map(of),
    );
    expect(new Set([...(met ?? []), ...(missed ?? []), ...(untold ?? [])])).toEqual(new Set(due));
    expect(new Set(due).size).toBe(due?.length);
  });

  test("seated time and time not known: the stretches add up to the figure", async () => {
    const { text } = await page(`${person}?from=2026-04-26&to=2026-05-02`);
    const seated = fact(text, "Seated and recorded");
    const { rows, sum } = await lines(seated.href);
    // Seven days of twelve hours, three of them in the gap.
    expect(minutesOf(rows)).toBe((7 * 12 - 3) * 60);
    expect(seated.shown).toBe("81 h");
    expect(sum).toContain("together 81 h");
    const unknown = fact(text, "Observed share");
    expect(unknown.shown).toBe("3 h");
    const [only] = (await lines(unknown.href)).rows;
    expect(only).toContain("14:00 to 17:00");
    expect(only).toContain(`href="/clinic/gaps/${gap}"`);
  });

  test("lines stand in the order of their time, however the day's ledger was worked out", async () => {
    const [day] = ledgerDaysOf(services.db, things.loan, gapDay, gapDay);
    if (!day) throw new Error("no day");
    const due = day.due.toReversed();
    saveLedgerDays(services.db, [{ ...day, due, digest: null }], {
      reviewedAt: services.clock.now(),
      zone: testZone,
    });
    const { rows } = await lines(
      fact((await page(`${person}?from=${gapDay}&to=${gapDay}`)).text, "Due in all").href,
    );
    const times = rows.map((row) => /(\d\d:\d\d)/.exec(row)?.[1] ?? "");
    expect(times).toHaveLength(24);
    expect(times).toEqual([...times].sort());
  });

  test("a line that can't be told says why and leads to its gap", async () => {
    const { href } = fact((await page(person)).text, "Can't be told");
    for (const row of (await lines(href)).rows) {
      expect(row).toContain(`href="/clinic/gaps/${gap}"`);
      expect(row).toMatch(/no record from 14:00 to 17:00|beside a time without a record/);
    }
  });

  test("what the unit could not see moves from missed to can't be told, in the lines as in the figure", async () => {
    deadColumn(services, dayBounds(addDays(gapDay, -7), testZone).start);
    const { text } = await page(`${person}?days=7`);
    expect(fact(text, "Due, none seen").shown).toBe("0");
    const { shown, href } = fact(text, "Can't be told");
    const { rows } = await lines(href);
    expect(rows).toHaveLength(Number(shown));
    expect(rows.filter((row) => row.includes("could not see most leans to the left")).length).toBeGreaterThan(
      8,
    );
  });

  test("as known on an earlier day the lines are those of then, and each link carries the day", async () => {
    const range = "from=2026-04-26&to=2026-05-03";
    const before = await lines(fact((await page(`${person}?${range}`)).text, "Can't be told").href);
    services.clock.move(50 * 3_600_000);
    const [day] = ledgerDaysOf(services.db, things.loan, gapDay, gapDay);
    if (!day) throw new Error("no day");
    const due = day.due.map((one) => ({ ...one, outcome: "met" as const }));
    saveLedgerDays(services.db, [{ ...day, due, digest: null }], {
      reviewedAt: services.clock.now(),
      zone: testZone,
    });
    expect(fact((await page(`${person}?${range}`)).text, "Can't be told").shown).toBe("0");
    const { shown, href } = fact(
      (await page(`${person}?${range}&asKnownOn=2026-05-03`)).text,
      "Can't be told",
    );
    expect(href).toContain("asKnownOn=2026-05-03");
    const then = await lines(href);
    expect(then.rows).toHaveLength(Number(shown));
    expect(then.rows.map((row) => row.replaceAll("?asKnownOn=2026-05-03", ""))).toEqual(before.rows);
  });

  test("the days that count are those the figure counts", async () => {
    const { shown, href } = fact((await page(person)).text, "Days that count");
    const { rows } = await lines(href);
    expect(rows.filter((row) => row.includes(">counts<"))).toHaveLength(Number(shown));
  });

  test("a colleague's person has no lines to show, and a figure nobody knows is that of all due", async () => {
    expect((await page(`${person}/lines?figure=met`, "otherClinician")).status).toBe(404);
    expect((await page(`${person}/lines?figure=luck`)).text).toContain("<h1>Due in all</h1>");
  });
});
