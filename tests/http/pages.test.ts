import type { Browser } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { mayDo } from "../../server/domain/access/roles.ts";
import { openEnrolment } from "../../server/enrolment/enrolment.ts";
import { createApp } from "../../server/http/app.ts";
import { type Listening, listen } from "../../server/http/listen.ts";
import type { Route } from "../../server/http/route.ts";
import { allRoutes } from "../../server/routes.ts";
import { makeInvitation } from "../../server/security/invitations.ts";
import { appendAudit } from "../../server/store/audit.ts";
import { accessibilityProblems, scrollsSideways } from "../support/accessibility.ts";
import { addressOf } from "../support/addresses.ts";
import { launchBrowser } from "../support/browser.ts";
import { cast, signedInAs, type TestServices, testServices } from "../support/cast.ts";

let services: TestServices;
let listening: Listening;
let browser: Browser;
let routes: readonly Route[];
const stopping = new AbortController();

beforeAll(async () => {
  services = testServices();
  const enrolment = await openEnrolment(services, {
    dataFolder: services.dataFolder,
    broker: { host: "localhost", port: 8883 },
  });
  const options = { baseUrl: "http://localhost", cast: [cast.clinician.id], invented: true };
  const loadLog = async () => ({ kind: "refused", sentence: "No log was given." }) as const;
  routes = allRoutes({ services, enrolment, options, readiness: {}, loadLog, stopping: stopping.signal });
  const app = createApp(services, routes, options);
  listening = await listen(() => app, 0);
  browser = await launchBrowser();
  const actor = { kind: "staff", id: cast.coordinator.id } as const;
  const at = services.clock.now();
  appendAudit(services.db, {
    at,
    actor,
    action: "open-loan",
    subject: "loan:one",
    detail: { reason: "first" },
  });
});
afterAll(async () => {
  await browser?.close();
  stopping.abort();
  await listening?.close();
  services?.close();
});

async function open(
  who: keyof typeof cast | null,
  path: string,
  colorScheme: "light" | "dark",
  width: number,
) {
  const url = `http://localhost:${listening.port}`;
  const context = await browser.newContext({ colorScheme, viewport: { width, height: 800 } });
  if (who !== null) {
    const value = signedInAs(services, who).headers.cookie.split("=")[1] ?? "";
    await context.addCookies([{ name: "cushionry", value, url }]);
  }
  const page = await context.newPage();
  await page.goto(`${url}${path}`);
  return page;
}

const pages = [
  [null, "/sign-in"],
  [null, "/set-up/no-such-link"],
  ["administrator", "/staff"],
  ["administrator", "/settings"],
  ["administrator", "/audit/check"],
  ["clinician", "/account"],
  ["technician", "/no-such-page"],
  ["technician", "/staff"],
] as const;

const desks = ["coordinator", "technician", "clinician", "administrator"] as const;

describe("every page of a desk", () => {
  it.each(desks)(
    "of the %s has nothing that axe finds wrong, and fits 390 px",
    async (role) => {
      const page = await open(role, "/account", "light", 390);
      const wrong: string[] = [];
      let seen = 0;
      for (const route of routes) {
        if (route.method !== "GET" || route.needs === "public" || !mayDo(role, route.needs)) continue;
        if (route.path === "/" || route.path === "/live") continue;
        const address = addressOf(route);
        const answer = await page.goto(new URL(address, page.url()).href);
        if (answer?.status() !== 200 || answer.headers()["content-type"]?.includes("html") !== true) continue;
        seen += 1;
        wrong.push(...(await accessibilityProblems(page)).map((problem) => `${address} ${problem}`));
        if (await scrollsSideways(page)) wrong.push(`${address} scrolls sideways`);
        if ((await page.locator("h1").count()) !== 1) wrong.push(`${address} has not one h1`);
      }
      expect(wrong).toEqual([]);
      expect(seen).toBeGreaterThan(2);
      await page.context().close();
    },
    180_000,
  );
});

describe("pages that every desk shares", () => {
  it.each(pages)(
    "for %s at %s have nothing that axe finds wrong, light or dark, and fit 320 px",
    async (who, path) => {
      for (const scheme of ["light", "dark"] as const) {
        const page = await open(who, path, scheme, 320);
        expect(await accessibilityProblems(page)).toEqual([]);
        expect(await scrollsSideways(page)).toBe(false);
        expect(await page.locator("h1").count()).toBe(1);
        await page.context().close();
      }
    },
  );

  it("let the keyboard skip to the page, and show where it is", async () => {
    const page = await open("administrator", "/staff", "light", 1_000);
    await page.keyboard.press("Tab");
    const focused = page.locator(":focus");
    expect(await focused.textContent()).toContain("Skip to the page");
    expect(await page.evaluate("getComputedStyle(document.activeElement).outlineStyle")).toBe("solid");
    await page.keyboard.press("Enter");
    expect(await page.evaluate("document.activeElement.id")).toBe("main");
    await page.context().close();
  });

  it("work without scripts: a new link is shown to be handed over, and leads to a page of its own", async () => {
    const url = `http://localhost:${listening.port}`;
    const context = await browser.newContext({ javaScriptEnabled: false });
    const page = await context.newPage();
    await page.goto(`${url}/set-up/${makeInvitation(services, null)}`);
    await page.getByLabel("Sign-in name").fill("neri");
    await page.getByLabel("Your name").fill("Neri Vale");
    await page.getByLabel("New password").fill("four unrelated words here");
    await page.getByLabel("The same again").fill("four unrelated words here");
    await page.getByRole("button", { name: "Make the account" }).click();
    await page.waitForURL(`${url}/staff`);
    await page.getByLabel("Name", { exact: true }).fill("Pia Thorn");
    await page.getByLabel("Sign-in name").fill("pia");
    await page.getByLabel("Role").selectOption("technician");
    await page.getByRole("button", { name: "Make a one-time link" }).click();
    await page.getByRole("heading", { name: "A one-time link for Pia Thorn" }).waitFor();
    const link = (await page.locator(".handed-over").textContent()) ?? "";
    await page.getByRole("button", { name: "Sign out" }).click();
    await page.goto(`${url}${new URL(link).pathname}`);
    await page.getByText("Welcome, Pia Thorn.").waitFor();
    await context.close();
  });
});
