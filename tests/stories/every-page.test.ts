import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { mayDo, type Role, roles } from "../../server/domain/access/roles.ts";
import type { Route } from "../../server/http/route.ts";
import { allRoutes } from "../../server/routes.ts";
import { launchBrowser } from "../support/browser.ts";
import { auditPage, auditRefusals } from "../support/page-audit.ts";
import { type ToldProgramme, tellProgramme } from "../support/told-programme.ts";
import { type Addresses, addressesIn, notPages } from "./page-addresses.ts";

let told: ToldProgramme;
let browser: Browser;
let routes: readonly Route[];
let addresses: Addresses;

beforeAll(async () => {
  [told, browser] = await Promise.all([tellProgramme(), launchBrowser()]);
  addresses = await addressesIn(told);
  const { services, enrolment, url } = told.running;
  routes = allRoutes({
    services,
    enrolment,
    options: { baseUrl: url, cast: [] },
    readiness: {},
    loadLog: async () => ({ kind: "refused", sentence: "No log was given." }) as const,
    stopping: new AbortController().signal,
  }).filter(({ method, path }) => method === "GET" && !(path in notPages));
}, 120_000);
afterAll(async () => {
  await browser?.close();
  await told?.stop();
});

const addressOf = (path: string): string | undefined => (path.includes(":") ? addresses[path] : path);

const seenBy = (role: Role): Route[] =>
  routes.filter(({ needs }) => needs !== "public" && mayDo(role, needs));

/** Opens each route and says everything that is wrong with what it shows.
 *  @returns how many were pages to read, and the faults, each with its address */
async function audit(page: Page, seen: readonly Route[]): Promise<{ pages: number; faults: string[] }> {
  const faults: string[] = [];
  let pages = 0;
  const complaints: string[] = [];
  page.on("console", (message) => {
    if (message.type() === "error") complaints.push(message.text());
  });
  page.on("pageerror", (error) => complaints.push(String(error)));
  for (const { path } of seen) {
    const answer = await page.request.get(`${told.url}${addressOf(path)}`, { maxRedirects: 0 });
    if (answer.status() >= 300 && answer.status() < 400) continue;
    if (answer.status() !== 200) faults.push(`${path} answers ${answer.status()}`);
    if (!answer.headers()["content-type"]?.startsWith("text/html")) continue;
    pages += 1;
    complaints.length = 0;
    await page.goto(addressOf(path) ?? "", { waitUntil: "domcontentloaded" });
    for (const fault of [...(await auditPage(page)), ...complaints]) faults.push(`${path} ${fault}`);
  }
  return { pages, faults };
}

describe("every page", () => {
  it("has an address in this programme, so that none escapes the audit", () => {
    expect(routes.filter(({ path }) => addressOf(path) === undefined).map(({ path }) => path)).toEqual([]);
  });

  it.each(roles)(
    "that a %s may see reads well at any width, in light and dark, by screen reader and by keyboard",
    async (role) => {
      const page = await told.signedIn(browser, role);
      const { pages, faults } = await audit(page, seenBy(role));
      expect(faults).toEqual([]);
      expect(pages).toBeGreaterThan(1);
      await page.context().close();
    },
    120_000,
  );

  it.each(roles)(
    "says to a %s what is missing when a form comes in empty",
    async (role) => {
      const page = await told.signedIn(browser, role);
      const faults: string[] = [];
      let asked = 0;
      for (const { path } of seenBy(role)) {
        const address = addressOf(path) ?? "";
        const answer = await page.request.get(`${told.url}${address}`, { maxRedirects: 0 });
        if (answer.status() !== 200 || !answer.headers()["content-type"]?.startsWith("text/html")) continue;
        const { forms, faults: found } = await auditRefusals(page, () =>
          page.goto(address, { waitUntil: "domcontentloaded" }),
        );
        asked += forms;
        faults.push(...found.map((fault) => `${path} ${fault}`));
      }
      expect(faults).toEqual([]);
      expect(asked).toBeGreaterThan(0);
      await page.context().close();
    },
    60_000,
  );

  it("that needs no signing in does too, and so does the one for an address where nothing is", async () => {
    const context = await browser.newContext({ baseURL: told.url });
    const page = await context.newPage();
    const open = routes.filter(({ needs }) => needs === "public");
    const { pages, faults } = await audit(page, open);
    const nothing = await page.goto("/nothing/is/here");
    expect(nothing?.status()).not.toBe(200);
    faults.push(...(await auditPage(page)));
    expect(faults).toEqual([]);
    expect(pages).toBeGreaterThan(1);
    await context.close();
  }, 60_000);
});

describe("a browser without JavaScript", () => {
  it("is shown every page whole", async () => {
    const lacking: string[] = [];
    for (const role of roles) {
      const page = await told.signedIn(browser, role, { javaScriptEnabled: false });
      for (const { path } of seenBy(role)) {
        const answer = await page.request.get(`${told.url}${addressOf(path)}`);
        const isPage = answer.headers()["content-type"]?.startsWith("text/html") === true;
        if (!answer.ok() || (isPage && !/<h1[\s>]/.test(await answer.text())))
          lacking.push(`${role} ${path}`);
      }
      await page.context().close();
    }
    expect(lacking).toEqual([]);
  }, 60_000);
});

describe("the audit itself", () => {
  it("finds each kind of fault where one is planted", async () => {
    const context = await browser.newContext();
    const page = await context.newPage();
    await page.setContent(`<!doctype html><html><head><title>Planted</title>
      <style>a { outline: none !important } .wide { inline-size: 700px } .pale { color: #bbb; background: #fff }</style></head>
      <body><h1>One</h1><h1>Two</h1><p class="pale">Hardly to be read</p><div class="wide">Wide</div>
      <a href="#one" id="same">Without a ring</a><a href="#two" tabindex="-1" id="same">Never reached</a>
      <form method="post"><input name="unlabelled"></form></body></html>`);
    const faults = (await auditPage(page)).join("\n");
    for (const planted of [
      "has 2 h1",
      "names no language",
      "is titled “Planted”",
      "has no single main part",
      "repeats the id same",
      "has a form that goes nowhere",
      "has no button for",
      "sends no token to",
      "scrolls sideways by 388 px at 320 px: div.wide",
      "light, 1280 px: color-contrast",
      "light, 1280 px: label ",
      "Tab never reaches a “Never reached”",
      "Tab first reaches a “Without a ring”, not the skip link",
      "focus can’t be seen on a “Without a ring”",
    ])
      expect(faults).toContain(planted);
    await context.close();
  });
});
