import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { loanId } from "../../server/domain/ids.ts";
import { addDays, instantAt, type LocalDay } from "../../server/domain/time/local-day.ts";
import { createApp } from "../../server/http/app.ts";
import { clinicRoutes } from "../../server/http/clinic-routes.tsx";
import { changeSettings } from "../../server/programme/change-settings.ts";
import { loan } from "../../server/store/schema/loans.ts";
import { ledgerDay } from "../../server/store/schema/record.ts";
import { settingsInForce } from "../../server/store/settings.ts";
import { cast, signedInAs, type TestServices, testServices, testZone, things } from "../support/cast.ts";
import { judged, recordedFortnight } from "./recorded-fortnight.ts";

let services: TestServices;
let gapDay: LocalDay;
const person = `/clinic/people/${things.borrower}`;

beforeEach(async () => {
  services = testServices();
  ({ gapDay } = recordedFortnight(services));
  await judged(services);
});
afterEach(() => services.close());

async function section(query: string, id: string): Promise<string> {
  const app = createApp(services, clinicRoutes(services), { baseUrl: "http://localhost" });
  const response = await app.request(`${person}?${query}`, {
    headers: signedInAs(services, "clinician").headers,
  });
  const text = (await response.text()).replaceAll("&#39;", "'");
  return new RegExp(`<section id="${id}">.*?</section>`, "s").exec(text)?.[0] ?? "";
}

/** From this day on another unit recorded. */
function swapOn(day: LocalDay): void {
  const old = services.db.select().from(loan).get();
  if (!old) throw new Error("no loan");
  const at = instantAt(day, 0, 0, testZone);
  const next = loanId("loan_next");
  services.db.update(loan).set({ endedAt: at }).run();
  const followed = { reference: "L-0002", unitSerial: things.stockUnit, followsLoanId: old.id };
  services.db
    .insert(loan)
    .values({ ...old, ...followed, id: next, openedAt: at, startedAt: at })
    .run();
  for (const row of services.db.select().from(ledgerDay).all())
    if (row.day >= day)
      services.db.update(ledgerDay).set({ loanId: next }).where(eq(ledgerDay.day, row.day)).run();
}

const fromDays = (daysForATrend: number) =>
  changeSettings(services, cast.administrator.id, { ...settingsInForce(services.db), daysForATrend });

describe("the trend on a person's page", () => {
  test("says how many days are missing, and with enough of them that none can be told of a share that stays", async () => {
    expect(await section("days=14", "trend")).toContain(
      "Not enough for a trend: 13 days of the 21 it takes.",
    );
    fromDays(7);
    expect(await section("days=14", "trend")).toContain("No trend can be told over 13 days that count");
  });

  test("never runs over a swap: each unit by itself, and neither has enough where both together would", async () => {
    fromDays(10);
    swapOn(addDays(gapDay, -5));
    const text = await section("days=14", "trend");
    expect(text.match(/not enough for a trend/g)).toHaveLength(2);
    expect(text).toContain("is no trend of the person's");
  });
});

describe("the days shown beside others", () => {
  test("the same number of days before, with the interval of the difference", async () => {
    const text = await section("from=2026-04-27&to=2026-05-02", "comparison");
    expect(text).toContain("21 April 2026 to 26 April 2026");
    expect(text).toContain("It can't be told whether anything changed");
    expect(text).toContain("Counting whatever may have happened unseen");
    expect(text).toContain("96 of 144");
  });

  test("any other days, and those that overlap are not taken", async () => {
    const asked = "from=2026-04-29&to=2026-05-02&besideFrom=2026-04-20&besideTo=2026-04-25";
    expect(await section(asked, "comparison")).toContain("20 April 2026 to 25 April 2026");
    const overlapping = "from=2026-04-29&to=2026-05-02&besideFrom=2026-04-20&besideTo=2026-04-30";
    expect(await section(overlapping, "comparison")).toContain("25 April 2026 to 28 April 2026");
  });

  test("not across two units, nor where too little was seen", async () => {
    expect(await section("from=2026-05-01&to=2026-05-02", "comparison")).toContain(
      "Not compared: too little was seen in either",
    );
    swapOn(addDays(gapDay, -3));
    const text = await section("from=2026-04-28&to=2026-05-02", "comparison");
    expect(text).toContain("Not compared: more than one unit recorded these two times");
  });
});
