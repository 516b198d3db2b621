import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { guidedPlan } from "../../scripts/simulated-cushions/bench-plan.ts";
import { BenchedCushion } from "../../scripts/simulated-cushions/benched-cushion.ts";
import { Delivery } from "../../scripts/simulated-cushions/delivery.ts";
import { unitSerial } from "../../server/domain/ids.ts";
import { localDay, localDayOf } from "../../server/domain/time/local-day.ts";
import { instant, millisecondsIn } from "../../server/domain/units.ts";
import { registerEquipment, renewCalibration } from "../../server/programme/bench-equipment.ts";
import { endLoan } from "../../server/programme/end-loan.ts";
import { moveUnit } from "../../server/programme/move-unit.ts";
import { benchBaselineOf } from "../../server/store/bench-results.ts";
import { ledgerDaysOf, type ReviewedDay } from "../../server/store/ledger-days.ts";
import { unitBySerial } from "../../server/store/units.ts";
import { launchBrowser } from "../support/browser.ts";
import { readCodeFrom } from "../support/code-picture.ts";
import { claim, enrolled, type Home, hangUp, lastAfternoon, live, moveIn } from "../support/homes.ts";
import { addStock, done, grid, type Programme, startProgramme } from "../support/programme.ts";

const serial = "CU-000401";
const deadColumn = 6;
const { minute, hour, second } = millisecondsIn;
const plate = 80;
const plan = guidedPlan({ plate, weight: 20, width: 420, depth: 420 });

let browser: Browser;
let programme: Programme;
let home: Home;
let ledgerBefore: readonly ReviewedDay[];

beforeAll(async () => {
  const startsAt = lastAfternoon(Date.now() - 48 * hour);
  [programme, browser] = await Promise.all([startProgramme(startsAt), launchBrowser()]);
  addStock(programme, serial);
  const faults = [{ kind: "column-open", from: startsAt, column: deadColumn }] as const;
  home = await moveIn(programme, { borrower: "Person One", serial, faults });
  await live(programme, [home], instant(startsAt + 3 * hour));
  await hangUp([home]);
  bringToBench();
  await programme.running.reviews.runNow();
  ledgerBefore = ledgerDaysOf(programme.running.services.db, home.loan);
});
afterAll(async () => {
  await browser?.close();
  await programme?.stop();
});

function bringToBench(): void {
  const { services } = programme.running;
  const coordinator = programme.actor("coordinator");
  done(
    endLoan(services, coordinator, {
      loan: home.loan,
      reason: "no longer needed",
      surface: "not-needed",
      unitTo: "quarantine",
    }),
  );
  for (const [from, to] of [
    ["quarantine", "cleaning"],
    ["cleaning", "on-the-bench"],
  ] as const)
    done(moveUnit(services, coordinator, { unit: unitSerial(serial), from, to }));
}

const day = (text: string) => {
  const read = localDay(text);
  if (read === null) throw new Error(text);
  return read;
};

function registerLoads(): void {
  const { services } = programme.running;
  const technician = programme.actor("technician");
  const inDate = { calibratedOn: day("2026-01-12"), dueOn: day("2099-01-12"), coverageFactor: 2 };
  done(
    registerEquipment(services, technician, {
      kind: "plate",
      name: "Rig one",
      calibration: {
        ...inDate,
        certificateReference: "CAL-0001",
        kilograms: 100,
        expandedUncertainty: 0.1,
        resolution: 0.1,
      },
    }),
  );
  done(
    registerEquipment(services, technician, {
      kind: "weight",
      name: "Weight 20",
      calibration: {
        ...inDate,
        certificateReference: "CAL-0002",
        kilograms: 20,
        expandedUncertainty: 0.002,
        resolution: 0,
      },
    }),
  );
}

/** What the technician does with hands, and the unit answers: everything else goes through the page. */
class Hands {
  readonly #page: Page;
  readonly #cushion: BenchedCushion;
  #setUps = 0;

  constructor(page: Page, cushion: BenchedCushion) {
    this.#page = page;
    this.#cushion = cushion;
  }

  setUp(): void {
    const next = plan[this.#setUps];
    if (next === undefined) throw new Error("the plan has come to its end");
    this.#setUps += 1;
    programme.clock.move(next.words === "hold, ended" ? 6 * minute : 30 * second);
    if (next.words !== "hold, ended") this.#cushion.put(next.load, programme.clock.now());
    if (next.celsius !== undefined) this.#cushion.warm(next.celsius);
  }

  /** @param kilograms on the rig's display; null: nothing to type */
  async read(kilograms: number | null, press: () => Promise<void> = async () => {}): Promise<void> {
    this.setUp();
    if (kilograms !== null) await this.#page.getByLabel("Load on its display").fill(String(kilograms));
    await this.#page.getByRole("button", { name: "Take the readings" }).click();
    await this.keep(press);
  }

  async keep(press: () => Promise<void> = async () => {}): Promise<void> {
    const keep = this.#page.getByRole("button", { name: "Keep it" });
    await keep.waitFor();
    await press();
    await keep.click();
    await this.#page.waitForLoadState();
  }

  async ask(button: string, press?: () => Promise<void>): Promise<void> {
    programme.clock.move(30 * second);
    await this.#page.getByRole("button", { name: button }).click();
    await this.keep(press);
  }

  async onwards(title: string): Promise<void> {
    await this.#page.getByRole("button", { name: "Next step" }).click();
    await this.#page.getByRole("heading", { name: title, exact: true }).waitFor();
  }
}

describe("a returned unit with a dead column, on the bench", () => {
  let page: Page;
  let benched: Delivery<BenchedCushion>;
  let session = "";

  it("is refused a code while no session is open, and begins one on its page", async () => {
    page = await programme.signedIn(browser, "technician");
    await page.goto("/bench/sessions");
    await page.getByRole("button", { name: `Begin a session for ${serial}` }).click();
    await page.waitForURL(/\/bench\/sessions\/bench_/);
    session = page.url();
    expect(await page.locator("#connection").textContent()).toContain("Off loan a unit can’t connect");
  });

  it("connects by the code read off the screen, outside every loan", async () => {
    await page.getByRole("button", { name: "Show a pairing code" }).click();
    await page.locator(".bench-code svg").waitFor();
    const code = await readCodeFrom(await page.locator(".bench-code").screenshot());
    const unit = enrolled(await claim(programme, serial, code ?? ""));
    expect(unit.plan).toBeNull();
    const cushion = new BenchedCushion(
      { ...home.delivery.cushion.spec, grid },
      "stories",
      programme.clock.now(),
      5,
    );
    benched = new Delivery(cushion, unit, () => programme.clock.now());
    const report = await benched.deliver(programme.clock.now(), 20);
    expect(report).toMatchObject({ waiting: 0, problem: null });
    await page.locator('[data-connection="paired"]').waitFor();
  });

  it("is refused a rig whose calibration has run out, in words that say what to do", async () => {
    registerLoads();
    const { services } = programme.running;
    const technician = programme.actor("technician");
    const old = {
      certificateReference: "CAL-0000",
      kilograms: 100,
      expandedUncertainty: 0.1,
      resolution: 0.1,
      coverageFactor: 2,
    };
    const { equipment } = done(
      registerEquipment(services, technician, {
        kind: "plate",
        name: "Rig none",
        calibration: { ...old, calibratedOn: day("2020-01-01"), dueOn: day("2021-01-01") },
      }),
    );
    await page.reload();
    await page.getByRole("button", { name: "Go to it (Even load)" }).click();
    await page.getByLabel("Rig").selectOption({ label: "Rig none, to 100 kg (calibration not in date)" });
    await page.getByLabel("Load on its display").fill("80");
    await page.getByRole("button", { name: "Take the readings" }).click();
    expect(await page.locator("#problems").textContent()).toMatch(/ran out on 2021-01-01.*Use another/);
    done(
      renewCalibration(services, technician, {
        equipment,
        calibration: {
          ...old,
          calibratedOn: localDayOf(services.clock.now(), services.zone),
          dueOn: day("2099-01-01"),
        },
      }),
    );
    await page.getByRole("button", { name: "Go to it (Firmware and certificate)" }).click();
  });

  it("goes through every step: the line sweep and the even load find the column, the rest is in tolerance", async () => {
    const hands = new Hands(page, benched.cushion);
    await hands.ask("Ask it to report");
    await hands.onwards("Line sweep");
    await hands.ask("Let it test its lines");
    expect(await page.locator("#step").textContent()).toMatch(/Columns that carry no current.*1.*masked/);
    await hands.onwards("Empty map");
    await hands.read(null);
    await hands.onwards("Even load");
    await hands.read(plate);
    await hands.onwards("Known weights, middle and corners");
    for (let place = 0; place < 5; place += 1) await hands.read(null);
    await hands.onwards("Rising and falling");
    for (const share of [0.3, 0.6, 1, 0.6, 0.3]) await hands.read(plate * share);
    await hands.onwards("Hold");
    await hands.read(plate);
    await hands.read(plate);
    await hands.onwards("Second temperature");
    await hands.read(null);
    await hands.read(plate);
    await hands.onwards("Cable flex");
    await hands.read(null, async () => page.getByLabel("None seen").check());
    await hands.onwards("Leans");
    for (let lean = 0; lean < 4; lean += 1) await hands.read(null);
    await hands.onwards("Battery");
    await hands.ask("Ask it to report", async () => page.getByLabel("No, none of these").check());
    await page.getByRole("button", { name: "Let it forget everything" }).click();
    await page.locator('[data-keeps="forgot"]').waitFor();
    const steps = (await page.locator("#steps").textContent()) ?? "";
    expect(steps.match(/✓ pass/g)?.length).toBe(10);
    expect(steps).toContain("Line sweep: ▨ cells to mask");
    expect(await page.locator("#finish").textContent()).toMatch(
      /pass: 10 cells are out of tolerance\..*pass with cells masked: may be chosen/,
    );
  }, 240_000);

  it("is held by one technician: a page that shows an older version is told so and changes nothing", async () => {
    const second = await page.context().newPage();
    // What doesn't renew itself grows old.
    await second.route("**/live?*", (route) => route.abort());
    await second.goto(session);
    await page.getByRole("button", { name: "Go to it (Leans)" }).click();
    await page.waitForLoadState();
    await second.getByRole("button", { name: "Go to it (Hold)" }).click();
    expect(await second.locator("#problems").textContent()).toContain("has gone on meanwhile");
    expect(await second.locator("#step").textContent()).toContain("Leans");
    await second.close();
  });

  it("passes with its cells masked, goes into stock, and its findings are closed", async () => {
    await page.goto(session);
    await page.getByLabel("pass with cells masked").check();
    await page.getByLabel("Problem: what was reported").selectOption("reliefs-missing");
    await page.getByLabel("Finding: what was seen").selectOption("line-without-answer");
    await page.getByLabel("Conclusion: the cause").selectOption("cause-not-established");
    await page.getByRole("button", { name: "Finish the session" }).click();
    await page.getByRole("link", { name: "Show and print the certificate" }).waitFor();
    const { db } = programme.running.services;
    expect(unitBySerial(db, unitSerial(serial))?.place).toBe("in-stock");
    expect(benchBaselineOf(db, unitSerial(serial))?.masked).toEqual(
      Array.from({ length: 10 }, (_, row) => 10 * row + deadColumn),
    );
    // Its connection ended with the session.
    const report = await benched.deliver(programme.clock.now(), 2);
    expect(report.sent).toBe(0);
  });

  it("prints a certificate on one A4 page, whose picture leads to a page that verifies it", async () => {
    await page.getByRole("link", { name: "Show and print the certificate" }).click();
    await page.getByText("The signature holds.").waitFor();
    const address = await readCodeFrom(await page.locator(".certificate-code").screenshot());
    expect(address).toBe(page.url());
    const text = (await page.locator("main").textContent()) ?? "";
    expect(text).toContain("pass with cells masked");
    expect(text).toContain("column 7 from the left");
    expect(text).toContain("it forgot everything of its last loan");
    expect(text).not.toContain("Person One");
    const pdf = (await page.pdf({ format: "A4", preferCSSPageSize: false })).toString("latin1");
    expect(pdf.match(/\/Type\s*\/Page\b/g)?.length).toBe(1);
    // As wide as A4 less its margins, each reading keeps to one line: the fullest certificate then fits too.
    await page.emulateMedia({ media: "print" });
    await page.setViewportSize({ width: 673, height: 1_000 });
    const heights = await page
      .locator(".judged tbody tr")
      .evaluateAll((rows) =>
        rows.map((row) => Number("offsetHeight" in row ? row.offsetHeight : Number.NaN)),
      );
    expect(Math.max(...heights)).toBeLessThan(20);
    expect(await page.evaluate("document.documentElement.scrollWidth")).toBe(673);
  });

  it("left nothing of the bench in the borrower’s record", async () => {
    await programme.running.reviews.runNow();
    const { services } = programme.running;
    expect(ledgerBefore.length).toBeGreaterThan(0);
    expect(ledgerDaysOf(services.db, home.loan)).toEqual(ledgerBefore);
    await benched.hangUp();
  });
});
