import axe from "axe-core";
import type { Page } from "playwright-core";
import { z } from "zod";

const results = z.object({
  violations: z.array(
    z.object({ id: z.string(), nodes: z.array(z.object({ html: z.string(), failureSummary: z.string() })) }),
  ),
});

/** What axe-core, an independent checker, finds against WCAG 2.0 to 2.2 A and AA: one line for each place. */
export async function accessibilityProblems(page: Page): Promise<string[]> {
  await page.evaluate(axe.source);
  const run = `axe.run(document, {
    runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    resultTypes: ["violations"],
  })`;
  const { violations } = results.parse(await page.evaluate(run));
  return violations.flatMap(({ id, nodes }) =>
    nodes.map((node) => `${id}: ${node.html.slice(0, 160)} | ${node.failureSummary.replaceAll("\n", " ")}`),
  );
}

/** True when the page scrolls sideways, which at 320 px it must not (SC 1.4.10). */
export const scrollsSideways = (page: Page): Promise<boolean> =>
  page.evaluate<boolean>("document.documentElement.scrollWidth > window.innerWidth");
