import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { millisecondsIn } from "../../server/domain/units.ts";
import { launchBrowser } from "../support/browser.ts";
import { readCodeFrom } from "../support/code-picture.ts";
import {
  addPerson,
  claim,
  codeOf,
  connect,
  cushionOf,
  deliver,
  enrolled,
  lastAfternoon,
  lend,
} from "../support/homes.ts";
import { addStock, type Programme, startProgramme, unitsInStock } from "../support/programme.ts";

const [, secondUnit, thirdUnit, fourthUnit] = unitsInStock;
let browser: Browser;
let programme: Programme;

beforeAll(async () => {
  // A few days back: the story of the expired code needs room to move the clock without overtaking the real one.
  const startsAt = lastAfternoon(Date.now() - 144 * millisecondsIn.hour);
  [programme, browser] = await Promise.all([startProgramme(startsAt), launchBrowser()]);
});
afterAll(async () => {
  await browser?.close();
  await programme?.stop();
});

/** The coordinator's way from the worklist to an open loan; the nearest unit that fits is offered first. */
async function openLoanFor(page: Page, borrower: string): Promise<void> {
  await page.goto("/stores/loans/new");
  await page.getByLabel("Borrower").selectOption({ label: `${borrower}, North` });
  await page.getByRole("button", { name: "Choose" }).click();
  await page.getByRole("button", { name: "Open the loan" }).click();
  await page.waitForURL(/\/stores\/loans\/[^/]+\?told=opened/);
}

const unitOnPage = async (page: Page): Promise<string> =>
  /CU-\d{6}/.exec((await page.getByRole("heading", { level: 1 }).textContent()) ?? "")?.[0] ?? "";

/** @returns what the server said to the unit */
async function refusalOf(serial: string, code: string): Promise<{ reason: string; message: string }> {
  const outcome = await claim(programme, serial, code);
  if (outcome.kind === "enrolled") throw new Error(`${serial} was let in`);
  expect(outcome.status).toBeGreaterThanOrEqual(400);
  expect(outcome.status).toBeLessThan(500);
  return { reason: outcome.refusal.refused, message: outcome.refusal.message };
}

describe("a loan from opening to the first reading", () => {
  it("appears on the coordinator’s page, without reload, when the unit enrols by the code read off the screen", async () => {
    addPerson(programme, "Person One");
    const page = await programme.signedIn(browser, "coordinator");
    await openLoanFor(page, "Person One");
    const loanPage = page.url();
    const serial = await unitOnPage(page);
    expect(unitsInStock).toContain(serial);
    await page.getByRole("button", { name: "Issue a pairing code" }).click();

    await page.locator(".pairing-figure svg").waitFor();
    expect(await page.locator(".label-serial").textContent()).toBe(serial);
    const picture = await page.locator(".pairing-figure").screenshot();
    const code = await readCodeFrom(picture);
    expect(code).toMatch(/^[\w-]+\.[\w-]+\.[\w-]+$/);

    const following = page.waitForResponse((response) => response.url().includes("/live?"));
    await page.goto(loanPage);
    await following;
    await page.evaluate("window.neverReloaded = true");
    expect(await page.locator("#loan").textContent()).toContain("has not enrolled yet");

    const unit = enrolled(await claim(programme, serial, code ?? ""));
    await page.getByText("Open and enrolled since").waitFor();
    expect(await page.locator("#pairing").textContent()).toContain("Claimed: the unit enrolled");

    const home = cushionOf({ borrower: "Person One", serial }, unit, programme.clock.now());
    home.cushion.reportEvery(1);
    programme.clock.move(20 * millisecondsIn.minute);
    home.cushion.advance(programme.clock.now());
    await deliver(home, programme.clock.now());
    await page.getByText("The newest record that has arrived is of").waitFor();
    expect(await page.evaluate("window.neverReloaded")).toBe(true);
    await home.hangUp();
    await page.context().close();
  });

  it("prints its code on paper as it shows it on the screen", async () => {
    const loan = lend(programme, addPerson(programme, "Person Two"), secondUnit);
    const code = await codeOf(programme, loan);
    const page = await programme.signedIn(browser, "coordinator");
    await page.emulateMedia({ media: "print" });
    await page.goto(`/stores/loans/${loan}/pairing-code`);
    expect(await readCodeFrom(await page.locator(".pairing-figure").screenshot())).toBe(code);
    expect(await page.getByRole("navigation", { name: "Desk" }).isVisible()).toBe(false);
    expect(await page.locator("main").textContent()).not.toContain("Person Two");
    await page.context().close();
  });
});

describe("a code that no longer works, or never did", () => {
  it("is refused in words that say what to do: used, withdrawn, another unit’s, expired", async () => {
    const loan = lend(programme, addPerson(programme, "Person Three"), thirdUnit);
    const withdrawn = await codeOf(programme, loan);
    const code = await codeOf(programme, loan);

    expect(await refusalOf(thirdUnit, withdrawn)).toEqual({
      reason: "withdrawn",
      message: expect.stringMatching(/was withdrawn.*newest slip/),
    });
    expect(await refusalOf(fourthUnit, code)).toEqual({
      reason: "another-unit",
      message: expect.stringMatching(/for another unit.*serial/),
    });
    enrolled(await claim(programme, thirdUnit, code));
    expect(await refusalOf(thirdUnit, code)).toEqual({
      reason: "already-used",
      message: expect.stringMatching(/already been used.*ask the stores desk for a new code/),
    });

    const late = await codeOf(programme, loan);
    const page = await programme.signedIn(browser, "coordinator");
    programme.clock.move(72 * millisecondsIn.hour);
    expect(await refusalOf(thirdUnit, late)).toEqual({
      reason: "expired",
      message: expect.stringMatching(/has expired.*new one/),
    });
    await page.context().close();

    const later = await programme.signedIn(browser, "coordinator");
    await later.goto(`/stores/loans/${loan}`);
    expect(await later.locator("#pairing").textContent()).toContain("Expired unused");
    await later.context().close();
  });
});

describe("a unit whose loan has ended", () => {
  it("is cut off at once, is refused when it calls again, and the coordinator sees why", async () => {
    const loan = lend(programme, addPerson(programme, "Person Four"), fourthUnit);
    const unit = enrolled(await claim(programme, fourthUnit, await codeOf(programme, loan)));
    const session = await connect(unit);
    const dropped = new Promise<void>((resolve) => session.onClosed(resolve));

    const page = await programme.signedIn(browser, "coordinator");
    await page.goto(`/stores/loans/${loan}/end`);
    await page.getByLabel("Why it ends").fill("chair changed");
    await page.getByLabel("Here, in quarantine").check();
    await page.getByLabel("No surface is needed any more").check();
    expect(session.isOpen).toBe(true);
    await page.getByRole("button", { name: "End the loan" }).click();

    await dropped;
    await expect(connect(unit)).rejects.toThrow(/not authori[sz]ed/i);
    await page.waitForURL(/told=ended/);
    const words = await page.locator("main").textContent();
    expect(words).toContain("Its certificate is revoked");
    expect(words).toContain("chair changed");
    await page.context().close();
  });
});

describe("a browser without JavaScript", () => {
  it("opens a loan and prints a code that the unit can use, with plain forms", async () => {
    addStock(programme, "CU-000305");
    addPerson(programme, "Person Five");
    const page = await programme.signedIn(browser, "coordinator", { javaScriptEnabled: false });
    await openLoanFor(page, "Person Five");
    const loanPage = page.url();
    expect(await unitOnPage(page)).toBe("CU-000305");
    await page.getByRole("button", { name: "Issue a pairing code" }).click();
    const code = await readCodeFrom(await page.locator(".pairing-figure").screenshot());
    enrolled(await claim(programme, "CU-000305", code ?? ""));
    await page.goto(loanPage);
    expect(await page.locator("#loan").textContent()).toContain("Open and enrolled since");
    await page.context().close();
  });
});
