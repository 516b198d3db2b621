import { mkdirSync } from "node:fs";
import { launchBrowser } from "./browser.ts";

/** Takes the pictures that README.md shows, from a running demonstration:
 *  `npx tsx tests/support/take-pictures.ts http://localhost:8080` */
const folder = "views/pictures";
const pictures = [
  { who: "Maren Oduya", name: "stores", list: "/stores", row: null },
  { who: "Ife Barrowcleave", name: "bench", list: "/bench", row: "CU-004204" },
  { who: "Ruhi Castellane", name: "clinic", list: "/clinic", row: "Joaquin Feldmarsh" },
] as const;

const address = process.argv[2];
if (address === undefined) {
  console.error("Give the address of a running demonstration, such as http://localhost:8080.");
  process.exit(1);
}

mkdirSync(folder, { recursive: true });
const browser = await launchBrowser();
for (const { who, name, list, row } of pictures) {
  const page = await browser.newPage({ viewport: { width: 1280, height: 960 }, colorScheme: "light" });
  await page.goto(`${address}/sign-in`);
  await page.getByRole("button", { name: who }).click();
  await page.goto(`${address}${list}`);
  if (row) {
    // The last link of a row is its one next step.
    await page.locator(".worklist > li", { hasText: row }).first().getByRole("link").last().click();
    await page.waitForLoadState();
  }
  await page.screenshot({ path: `${folder}/${name}.png` });
  await page.close();
}
await browser.close();
