import type { Browser, Page as BrowserPage } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { createApp } from "../../server/http/app.ts";
import { assetRoutes } from "../../server/http/assets-routes.ts";
import { type Listening, listen } from "../../server/http/listen.ts";
import { liveRoutes } from "../../server/http/live-routes.ts";
import { frameOf } from "../../server/http/page-frame.ts";
import type { Route } from "../../server/http/route.ts";
import { removeSessionsOf } from "../../server/store/sessions.ts";
import { LiveRegion } from "../../views/layout/live-region.tsx";
import { Page } from "../../views/layout/page.tsx";
import { launchBrowser } from "../support/browser.ts";
import { cast, signedInAs, type TestServices, testServices } from "../support/cast.ts";

let services: TestServices;
let listening: Listening;
let browser: Browser;
let items: string[] = [];
let failing = false;
const stopping = new AbortController();

/** A worklist as any desk has one, with something to type into inside the live part. */
const listRoute = (): Route => ({
  method: "GET",
  path: "/bench",
  needs: "see-bench-worklist",
  handle: (context) => {
    if (failing) throw new Error("asked to fail");
    return context.html(
      <Page title="List" {...frameOf(services, context)}>
        <h1>List</h1>
        <LiveRegion id="list" topics={["bench"]} url="/bench">
          <label>
            Note <input id="note" name="note" />
          </label>
          <ul>
            {items.map((item) => (
              <li>{item}</li>
            ))}
          </ul>
        </LiveRegion>
      </Page>,
    );
  },
});

beforeAll(async () => {
  services = testServices();
  const options = { baseUrl: "http://localhost" };
  const app = createApp(
    services,
    [...assetRoutes, ...liveRoutes(services, options, stopping.signal), listRoute()],
    options,
  );
  listening = await listen(() => app, 0);
  browser = await launchBrowser();
});
afterAll(async () => {
  await browser?.close();
  stopping.abort();
  await listening?.close();
  services?.close();
});

async function openList(): Promise<BrowserPage> {
  const context = await browser.newContext();
  const { cookie } = signedInAs(services, "technician").headers;
  const url = `http://localhost:${listening.port}`;
  await context.addCookies([{ name: "cushionry", value: cookie.split("=")[1] ?? "", url }]);
  const page = await context.newPage();
  page.on("console", (message) => complaints.push(message.text()));
  page.on("pageerror", (error) => complaints.push(String(error)));
  const following = page.waitForResponse((response) => response.url().includes("/live?"));
  await page.goto(`${url}/bench`);
  await following;
  return page;
}
const complaints: string[] = [];

describe("a live region in a real browser", () => {
  it("shows a change without reloading, and keeps focus and what is half typed", async () => {
    items = ["first"];
    const page = await openList();
    await page.evaluate("window.neverReloaded = true");
    await page.locator("#note").focus();
    await page.keyboard.type("half a sen");
    items = ["first", "second"];
    services.live.changed("bench");
    await page.getByText("second").waitFor();
    await page.keyboard.type("tence");
    expect(await page.locator("#note").inputValue()).toBe("half a sentence");
    expect(await page.evaluate("window.neverReloaded")).toBe(true);
    items = ["third"];
    services.live.changed("bench");
    await page.getByText("third").waitFor();
    expect(await page.getByText("second").count()).toBe(0);
    expect(complaints).toEqual([]);
    await page.context().close();
  });

  it("leaves what is there when a refresh fails, and recovers with the next change", async () => {
    items = ["before"];
    const page = await openList();
    failing = true;
    const failed = page.waitForResponse((response) => response.status() === 500);
    services.live.changed("bench");
    await failed;
    expect(await page.getByText("before").count()).toBe(1);
    failing = false;
    items = ["after"];
    services.live.changed("bench");
    await page.getByText("after").waitFor();
    await page.context().close();
  });

  it("goes to the sign-in page when the session has ended meanwhile", async () => {
    items = ["mine"];
    const page = await openList();
    removeSessionsOf(services.db, cast.technician.id);
    services.live.changed("bench");
    await page.waitForURL(/\/sign-in\?next=%2Fbench/, { timeout: 10_000 });
    await page.context().close();
  });
});
