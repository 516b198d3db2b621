import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import type { Page } from "playwright-core";

/** axe-core's own rules for WCAG 2.0, 2.1 and 2.2, levels A and AA. */
const rules = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"];
const axeSource = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

/** WCAG 2.2 success criterion 1.4.10: 320 CSS pixels without scrolling in two directions. */
const widths = [1280, 390, 320] as const;

/** Everything that is wrong with the page now open, in words; nothing is right. */
export async function auditPage(page: Page): Promise<string[]> {
  // What is folded away has to be right as well.
  await page.evaluate("for (const each of document.querySelectorAll('details')) each.open = true");
  const faults = [...(await faultsOfDocument(page)), ...(await faultsOfForms(page))];
  for (const width of widths) {
    await page.setViewportSize({ width, height: 900 });
    const scrolls = await page.evaluate<number>(
      "document.documentElement.scrollWidth - document.documentElement.clientWidth",
    );
    if (scrolls > 0) faults.push(`scrolls sideways by ${scrolls} px at ${width} px: ${await widest(page)}`);
  }
  await page.emulateMedia({ colorScheme: "dark" });
  faults.push(...(await axeFaults(page)).map((fault) => `dark, 320 px: ${fault}`));
  await page.setViewportSize({ width: 1280, height: 900 });
  await page.emulateMedia({ colorScheme: "light" });
  faults.push(...(await axeFaults(page)).map((fault) => `light, 1280 px: ${fault}`));
  faults.push(...(await faultsOfKeyboard(page)));
  return faults;
}

/** Sends each form of the page that asks for something with nothing filled in, and looks at what comes back: it has to
 *  be a page in order, that says what is missing and ties each sentence to its field.
 *  @param open opens the page anew
 *  @returns how many forms there were, and what is wrong */
export async function auditRefusals(
  page: Page,
  open: () => Promise<unknown>,
): Promise<{ forms: number; faults: string[] }> {
  await open();
  const forms = await page.evaluate<number>(`[...document.querySelectorAll("${asking}")].length`);
  const faults: string[] = [];
  for (let place = 0; place < forms; place += 1) {
    if (place > 0) await open();
    const [answer] = await Promise.all([
      page.waitForResponse((response) => response.request().method() === "POST"),
      page.waitForEvent("domcontentloaded"),
      // Emptied and sent in one task: a live region may renew itself between two, and the form with it.
      page.evaluate(`setTimeout(() => {
        const form = document.querySelectorAll("${asking}")[${place}];
        form.noValidate = true;
        for (const each of form.elements) {
          if (each.type === "radio" || each.type === "checkbox") each.checked = false;
          else if (each.type !== "hidden" && each.localName !== "button") each.value = "";
        }
        form.requestSubmit();
      })`),
    ]);
    const sent = `nothing sent to ${new URL(answer.url()).pathname.replace(/[\w-]*\d[\w-]*/g, "…")}:`;
    if (answer.status() !== 422) faults.push(`${sent} answers ${answer.status()}`);
    const found = [
      ...(await faultsOfDocument(page)),
      ...(await faultsOfProblems(page)),
      ...(await axeFaults(page)),
    ];
    faults.push(...found.map((fault) => `${sent} ${fault}`));
  }
  return { forms, faults };
}
const asking = "main form[method=post]:has([required])";

const faultsOfProblems = (page: Page): Promise<string[]> =>
  page.evaluate<string[]>(`(() => {
    const alert = document.querySelector("main [role=alert]");
    if (!alert) return ["says nowhere what is wrong"];
    return [...alert.querySelectorAll("a[href^='#']")]
      .filter((each) => !document.getElementById(each.getAttribute("href").slice(1)))
      .map((each) => "points at a field that isn’t there: " + each.getAttribute("href"));
  })()`);

const faultsOfDocument = (page: Page): Promise<string[]> =>
  page.evaluate<string[]>(`(() => {
    const faults = [];
    const headings = document.querySelectorAll("h1").length;
    if (headings !== 1) faults.push("has " + headings + " h1");
    if (document.documentElement.lang !== "en") faults.push("names no language");
    if (!/^.+ · Cushionry$/.test(document.title)) faults.push("is titled “" + document.title + "”");
    if (document.querySelectorAll("main").length !== 1) faults.push("has no single main part");
    const ids = [...document.querySelectorAll("[id]")].map((each) => each.id);
    for (const id of new Set(ids.filter((id, at) => ids.indexOf(id) !== at))) faults.push("repeats the id " + id);
    return faults;
  })()`);

/** A form works without scripts when it says where it goes, carries its token and has a button that sends it. */
const faultsOfForms = (page: Page): Promise<string[]> =>
  page.evaluate<string[]>(`(() => {
    const faults = [];
    const open = new Set(["/sign-in", "/sign-in/as"]);
    for (const form of document.forms) {
      const goes = form.getAttribute("action");
      if (goes === null) faults.push("has a form that goes nowhere");
      if (!form.querySelector("button:not([type=button]), input[type=submit]")) faults.push("has no button for " + goes);
      const needsToken = form.method === "post" && !open.has(goes) && !String(goes).startsWith("/set-up/");
      if (needsToken && !form.querySelector("input[name=csrf]")) faults.push("sends no token to " + goes);
    }
    return faults;
  })()`);

const widest = (page: Page): Promise<string> =>
  page.evaluate<string>(`(() => {
    const room = document.documentElement.clientWidth;
    const contained = (each) => {
      for (let up = each.parentElement; up; up = up.parentElement)
        if (getComputedStyle(up).overflowX !== "visible") return true;
      return false;
    };
    return [...document.querySelectorAll("body *")]
      .filter((each) => each.getBoundingClientRect().right > room + 0.5 && !contained(each))
      .slice(0, 3)
      .map((each) => each.localName + (each.id && "#" + each.id) + [...each.classList].map((name) => "." + name).join(""))
      .join(", ");
  })()`);

async function axeFaults(page: Page): Promise<string[]> {
  await page.evaluate(axeSource);
  return page.evaluate<string[]>(`axe
    .run(document, { runOnly: { type: "tag", values: ${JSON.stringify(rules)} }, resultTypes: ["violations"] })
    .then(({ violations }) => violations.map(({ id, help, nodes }) =>
      id + " (" + help + "): " + nodes.slice(0, 3).map(({ target, any }) =>
        target.join(" ") + (any[0] ? " [" + any[0].message + "]" : "")).join("; ")))`);
}

/** Goes through the page with the Tab key alone.
 *  WCAG 2.2: 2.1.1 keyboard, 2.4.1 bypass blocks, 2.4.7 focus visible, 2.4.11 focus not obscured. */
async function faultsOfKeyboard(page: Page): Promise<string[]> {
  const stops = await page.evaluate<number>(`(() => {
    document.activeElement?.blur?.();
    window.getSelection()?.removeAllRanges();
    const name = (each) => each.localName + " “" + (each.innerText || each.name || each.id || "").trim().slice(0, 40) + "”";
    const seen = (each) => each.checkVisibility({ visibilityProperty: true });
    const groups = new Set();
    const expected = [...document.querySelectorAll("a[href], button, input, select, textarea, summary")]
      .filter((each) => each.type !== "hidden" && !each.disabled && seen(each))
      .filter((each) => {
        // Arrow keys move inside a group of radio buttons: Tab stops at one of them.
        if (each.type !== "radio") return true;
        const group = each.form?.action + each.name;
        if (each.checked ? false : groups.has(group) || [...document.getElementsByName(each.name)].some((one) => one.checked)) return false;
        groups.add(group);
        return true;
      });
    const tabbed = { expected, name, reached: [], unseen: [], offScreen: [] };
    document.addEventListener("focusin", ({ target }) => {
      tabbed.reached.push(target);
      const style = getComputedStyle(target);
      const outlined = style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 1;
      if (!outlined && style.boxShadow === "none") tabbed.unseen.push(name(target));
      const { top, bottom } = target.getBoundingClientRect();
      if (bottom < 0 || top > innerHeight) tabbed.offScreen.push(name(target));
    });
    window.tabbed = tabbed;
    // A date or a time is several stops inside one field.
    const parts = (each) => (/^(date|datetime-local|time|month|week)$/.test(each.type) ? 7 : 1);
    // Wide tables are stops too: that is how they are scrolled without a mouse.
    const scrolled = document.querySelectorAll('[tabindex="0"]').length;
    return expected.reduce((sum, each) => sum + parts(each), scrolled);
  })()`);
  for (let stop = 0; stop < stops + 3; stop += 1) await page.keyboard.press("Tab");
  return page.evaluate<string[]>(`(() => {
    const { expected, name, reached, unseen, offScreen } = window.tabbed;
    const faults = expected.filter((each) => !reached.includes(each)).map((each) => "Tab never reaches " + name(each));
    if (!reached[0]?.classList.contains("skip")) faults.push("Tab first reaches " + (reached[0] ? name(reached[0]) : "nothing") + ", not the skip link");
    for (const each of new Set(unseen)) faults.push("focus can’t be seen on " + each);
    for (const each of new Set(offScreen)) faults.push("focus is off the screen on " + each);
    return faults;
  })()`);
}
