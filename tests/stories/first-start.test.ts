import type { Browser, BrowserContext } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { instant } from "../../server/domain/units.ts";
import type { RunningService } from "../../server/service.ts";
import { launchBrowser } from "../support/browser.ts";
import { startEmptyService } from "../support/programme.ts";

let browser: Browser;
let running: RunningService;
let stop: () => Promise<void>;
const contexts: BrowserContext[] = [];

beforeAll(async () => {
  [{ running, stop }, browser] = await Promise.all([
    startEmptyService(instant(Date.now() - 3_600_000)),
    launchBrowser(),
  ]);
});
afterAll(async () => {
  await browser?.close();
  await stop?.();
});

/** Somebody at a computer of their own. */
async function somebody() {
  const context = await browser.newContext();
  context.setDefaultTimeout(10_000);
  contexts.push(context);
  return context.newPage();
}

describe("the first start", () => {
  it("lets whoever started the service become administrator once, who invites a coordinator, who signs in", async () => {
    const link = running.setUpLink ?? "";
    expect(link).toMatch(/\/set-up\/.{20,}/);

    const wren = await somebody();
    await wren.goto(link);
    expect(await wren.getByRole("heading", { level: 1 }).textContent()).toBe("Set up this console");
    await wren.getByLabel("Sign-in name").fill("wren");
    await wren.getByLabel("Your name").fill("Wren Hollis");
    await wren.getByLabel("New password").fill("seven quiet lanterns");
    await wren.getByLabel("The same again").fill("seven quiet lanterns");
    await wren.getByRole("button", { name: "Make the account" }).click();
    await wren.waitForURL(`${running.url}/staff`);

    const somebodyElse = await somebody();
    await somebodyElse.goto(link);
    expect(await somebodyElse.getByRole("heading", { level: 1 }).textContent()).toBe(
      "This link no longer works",
    );

    await wren.getByLabel("Name", { exact: true }).fill("Odile Marsh");
    await wren.getByLabel("Sign-in name").fill("odile");
    await wren.getByLabel("Role").selectOption("coordinator");
    await wren.getByRole("button", { name: "Make a one-time link" }).click();
    const invitation = (await wren.locator(".handed-over").textContent()) ?? "";
    expect(invitation).toMatch(/\/set-up\/.{20,}/);

    const odile = await somebody();
    await odile.goto(invitation);
    await odile.getByLabel("New password").fill("a kettle in the rain");
    await odile.getByLabel("The same again").fill("a kettle in the rain");
    await odile.getByRole("button", { name: "Choose this password" }).click();
    await odile.waitForURL(`${running.url}/stores`);

    await odile.getByRole("button", { name: "Sign out" }).click();
    await odile.waitForURL(/\/sign-in/);
    await odile.getByLabel("Sign-in name").fill("odile");
    await odile.getByLabel("Password").fill("a kettle in the rain");
    await odile.getByRole("button", { name: "Sign in" }).click();
    await odile.waitForURL(`${running.url}/stores`);
    expect(await odile.getByRole("navigation", { name: "Desk" }).textContent()).toContain("Stores");
    expect((await odile.goto(`${running.url}/staff`))?.status()).toBe(403);
  });

  it("refuses to say whether a name exists when a password is wrong", async () => {
    const page = await somebody();
    const answers: string[] = [];
    for (const login of ["wren", "nobody-of-this-name"]) {
      await page.goto(`${running.url}/sign-in`);
      await page.getByLabel("Sign-in name").fill(login);
      await page.getByLabel("Password").fill("not the password");
      await page.getByRole("button", { name: "Sign in" }).click();
      answers.push(((await page.getByRole("alert").textContent()) ?? "").trim());
    }
    expect(answers[0]).toContain("don’t belong together");
    expect(answers[1]).toBe(answers[0]);
  });
});
