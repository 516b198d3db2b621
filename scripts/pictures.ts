import { mkdirSync } from "node:fs";
import { launchBrowser } from "../tests/support/browser.ts";

/** Takes the pictures that README.md shows, from a running demonstration:
 *  `npx tsx scripts/pictures.ts http://localhost:8080` */
const folder = "views/pictures";
const pictures = [
  { desk: "Stores", name: "stores", list: "/stores", link: null },
  { desk: "Bench", name: "bench", list: "/bench", link: { name: /CU-004204/ } },
  { desk: "Clinic", name: "clinic", list: "/clinic", link: { name: /Read|Ring|Wait/ } },
] as const;

const address = process.argv[2];
if (address === undefined) {
  console.error("Give the address of a running demonstration, such as http://localhost:8080.");
  process.exit(1);
}

mkdirSync(folder, { recursive: true });
const browser = await launchBrowser();
for (const { desk, name, list, link } of pictures) {
  const page = await browser.newPage({ viewport: { width: 1280, height: 960 }, colorScheme: "light" });
  await page.goto(`${address}/sign-in`);
  await page.locator("li", { hasText: desk }).first().getByRole("button").click();
  await page.goto(`${address}${list}`);
  if (link) {
    await page.getByRole("main").getByRole("link", link).first().click();
    await page.waitForLoadState();
  }
  await page.screenshot({ path: `${folder}/${name}.png` });
  await page.close();
}
await browser.close();
