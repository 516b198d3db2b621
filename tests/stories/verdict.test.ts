import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { millisecondsIn } from "../../server/domain/units.ts";
import { launchBrowser } from "../support/browser.ts";
import { deliver } from "../support/homes.ts";
import { deadColumn, type ToldProgramme, tellProgramme } from "../support/told-programme.ts";

let told: ToldProgramme;
let browser: Browser;

beforeAll(async () => {
  [told, browser] = await Promise.all([tellProgramme(), launchBrowser()]);
}, 120_000);
afterAll(async () => {
  await browser?.close();
  await told?.stop();
});

const mainOf = async (page: Page): Promise<string> => (await page.locator("main").textContent()) ?? "";
const textOf = async (page: Page, part: string): Promise<string> =>
  ((await page.locator(part).textContent()) ?? "").trim();

/** The clinician goes from the worklist to the one question about this person. */
async function openGapOf(page: Page, name: string): Promise<void> {
  const row = page.locator(".worklist > li").filter({ has: page.getByRole("link", { name, exact: true }) });
  await row.locator(".next a").click();
  await page.locator(".verdict-sentence").waitFor();
}

describe("the technician", () => {
  it("finds the unit with the dead column on the worklist, and reads which column and which leans it hides", async () => {
    const page = await told.signedIn(browser, "technician");
    const row = page.locator(".worklist > li").filter({ hasText: told.column.serial });
    expect(await row.textContent()).toMatch(new RegExp(`column ${deadColumn + 1}\\b`, "i"));
    await row.getByRole("link", { name: told.column.serial, exact: true }).click();
    await page.waitForURL(new RegExp(`/bench/units/${told.column.serial}`));
    const words = await mainOf(page);
    expect(words).toContain(`Column ${deadColumn + 1} of 10, right side, has not answered`);
    expect(
      await page
        .locator("svg")
        .filter({ hasText: `column ${deadColumn + 1}` })
        .count(),
    ).toBeGreaterThan(0);
    const lean = (direction: string) => page.locator("table.leans tbody tr").filter({ hasText: direction });
    expect(await lean("left").textContent()).toMatch(/weak|blind/);
    expect(await lean("right").textContent()).toContain("seen");
    expect(await lean("forward").textContent()).toContain("seen");
    expect(words).not.toContain("Person Column");
    await page.context().close();
  });
});

describe("the clinician", () => {
  it("opens a gap and reads the verdict, its evidence, what it leaves open, what would settle it and the caution", async () => {
    const page = await told.signedIn(browser, "clinician");
    await openGapOf(page, "Person Late");
    expect(await textOf(page, ".verdict-sentence")).toMatch(
      /^No record since \d\d:\d\d on \d+ \w+ \d{4}: .+\(.*\d+\s%\)/,
    );
    expect(await mainOf(page)).toContain("A gap says nothing about whether reliefs were done.");
    expect(await page.locator("#evidence tbody tr").count()).toBeGreaterThan(1);
    expect(await textOf(page, "#evidence")).toMatch(/The battery still had \d+ mV when the record stopped/);
    expect(await textOf(page, "#settle")).toContain("What would settle it");
    expect(await page.locator("#settle tbody tr").count()).toBeGreaterThan(0);
    const sides = await page.locator("#sides tbody td.number").allTextContents();
    const total = sides.reduce((sum, share) => sum + Number(/\d+/.exec(share)?.[0]), 0);
    expect(total).toBeGreaterThanOrEqual(98);
    expect(total).toBeLessThanOrEqual(102);
    const shares = await page.locator("#bounds td[data-label='Share met']").allTextContents();
    const widest = shares.map((share) => /(\d+)\s% to (\d+)\s%/.exec(share)?.slice(1).map(Number) ?? []);
    expect(widest.some(([low, high]) => low !== undefined && high !== undefined && low < high - 10)).toBe(
      true,
    );
    await page.context().close();
  });

  it("sees the verdict change, without reload, when what the cushion kept arrives; the old one stays with its dates", async () => {
    const page = await told.signedIn(browser, "clinician");
    await openGapOf(page, "Person Late");
    const before = await textOf(page, ".verdict-sentence");
    expect(before).toContain("can't tell yet");
    const following = page.waitForResponse((response) => response.url().includes("/live?"));
    await page.reload();
    await following;
    await page.evaluate("window.neverReloaded = true");

    told.clock.set(told.relayReturnsAt);
    told.clock.move(2 * millisecondsIn.minute);
    const { delivery } = told.late;
    delivery.cushion.advance(told.clock.now());
    const kept = delivery.cushion.store.length;
    expect(kept).toBeGreaterThan(10);
    await deliver(delivery, told.clock.now());
    expect(delivery.cushion.store.length).toBe(0);

    await page
      .locator(".verdict-sentence")
      .filter({ hasText: "was recorded late" })
      .waitFor({ timeout: 20_000 });
    const share = /(?:Almost certainly|Probably) \((?:over )?(\d+)\s%\) link side/.exec(
      await textOf(page, ".verdict-sentence"),
    );
    expect(Number(share?.[1])).toBeGreaterThanOrEqual(80);
    expect(await page.evaluate("window.neverReloaded")).toBe(true);
    const history = await textOf(page, "#history");
    expect(history).toContain(before);
    expect(history).toMatch(/From \d+ \w+ \d{4}, \d\d:\d\d until \d+ \w+ \d{4}, \d\d:\d\d we held/);
    await page.context().close();
  });
});
