import chromium from "@sparticuz/chromium";
import { type Browser, chromium as playwright } from "playwright-core";

/** A real browser, from the package that ships one: nothing is downloaded and nothing needs installing. */
export async function launchBrowser(): Promise<Browser> {
  chromium.setGraphicsMode = false;
  return playwright.launch({
    executablePath: await chromium.executablePath(),
    // A container has no sandbox for root, and little shared memory. Web security stays on: it is part of what is tested.
    args: ["--no-sandbox", "--disable-dev-shm-usage", "--disable-gpu"],
    headless: true,
  });
}
