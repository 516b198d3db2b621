import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { writeLogFile } from "../../firmware-protocol/src/log-file.ts";
import { BenchedCushion } from "../../scripts/simulated-cushions/benched-cushion.ts";
import { Delivery } from "../../scripts/simulated-cushions/delivery.ts";
import { type UnitSerial, unitSerial } from "../../server/domain/ids.ts";
import { instant, millisecondsIn } from "../../server/domain/units.ts";
import { assessUnit } from "../../server/programme/assess-units.ts";
import { moveUnit } from "../../server/programme/move-unit.ts";
import { unitBySerial } from "../../server/store/units.ts";
import { fault, hello, incoming, minutesUpTo } from "../ingest/cushion-messages.ts";
import { soundCushion } from "../simulated-cushions/cast.ts";
import { launchBrowser } from "../support/browser.ts";
import { readCodeFrom } from "../support/code-picture.ts";
import { claim, enrolled } from "../support/homes.ts";
import { addStock, done, grid, type Programme, startProgramme } from "../support/programme.ts";

const { minute, second } = millisecondsIn;
const colleague = "Asha Pryce";
const [shared, toRepair, toRetire, other] = ["CU-000411", "CU-000412", "CU-000413", "CU-000414"] as const;

let browser: Browser;
let programme: Programme;
let mine: Page;
let hers: Page;

beforeAll(async () => {
  [programme, browser] = await Promise.all([
    startProgramme(instant(Date.now() - 3 * millisecondsIn.hour)),
    launchBrowser(),
  ]);
  for (const serial of [shared, toRepair, toRetire, other]) {
    addStock(programme, serial);
    toTheBench(serial);
  }
  await programme.engage("technician", "colleague", colleague);
  mine = await programme.signedIn(browser, "technician");
  hers = await programme.signedIn(browser, "technician", { login: "colleague" });
});
afterAll(async () => {
  await browser?.close();
  await programme?.stop();
});

function toTheBench(serial: string): void {
  const { services } = programme.running;
  const unit = unitSerial(serial);
  done(moveUnit(services, programme.actor("technician"), { unit, from: "in-stock", to: "on-the-bench" }));
}

const placeOf = (serial: UnitSerial | string) =>
  unitBySerial(programme.running.services.db, unitSerial(serial))?.place;

async function begin(page: Page, serial: string): Promise<string> {
  await page.goto("/bench/sessions");
  await page.getByRole("button", { name: `Begin a session for ${serial}` }).click();
  await page.waitForURL(/\/bench\/sessions\/bench_/);
  return page.url();
}

describe("the log of a unit, loaded in the browser", () => {
  const messages = [
    hello({ uptime: 1 }),
    ...[1, 2].map((sequence) => minutesUpTo({ sequence, uptime: sequence * 900 }, 15)),
  ].map((message) => ({ ...message, unit: other }));
  const log = Buffer.from(writeLogFile(other, messages.map(encodeUplink)));

  async function load(name: string, buffer: Buffer): Promise<string> {
    await mine.goto(`/bench/units/${other}/log`);
    await mine.getByLabel("Log file").setInputFiles({ name, mimeType: "application/octet-stream", buffer });
    await mine.getByRole("button", { name: "Load it" }).click();
    await mine.waitForLoadState();
    return (await mine.locator("main").textContent()) ?? "";
  }

  it("is told apart from a file that is no log, and from the log of another unit", async () => {
    expect(await load("holiday.jpg", Buffer.from("not a log at all"))).toContain("This is no log of a unit");
    const another = Buffer.from(writeLogFile(shared, messages.map(encodeUplink)));
    expect(await load("a.cushion-log", another)).toMatch(
      /of CU-000411, not of CU-000414.*Nothing of it was loaded/,
    );
    expect(await load("empty.cushion-log", Buffer.alloc(0))).toContain("Choose the log file first");
  });

  it("is stored once: loaded again, all of it is already here", async () => {
    expect(await load("a.cushion-log", log)).toContain("3 messages stored, 0 already here");
    expect(await load("a.cushion-log", log)).toContain("0 messages stored, 3 already here");
    expect(await load("a.cushion-log", log.subarray(0, log.length - 2))).toMatch(
      /Record 3, at byte \d+: the file ends within it/,
    );
  });

  it("of more than any unit holds is refused with a page that says so, and nothing is taken in", async () => {
    const text = await load("huge.cushion-log", Buffer.alloc(33 * 1024 * 1024, 1));
    expect(text).toMatch(/too large/i);
    expect(await load("a.cushion-log", log)).toContain("0 messages stored, 3 already here");
  }, 60_000);

  it("needs a file: a form without one is shown again, whatever else it carries", async () => {
    const answer = await mine.request.post(`/bench/units/${other}/log`, {
      form: {
        csrf: (await mine.locator('input[name="csrf"]').first().getAttribute("value")) ?? "",
        log: "text",
      },
      headers: { origin: programme.url },
    });
    expect(answer.status()).toBe(422);
    expect(await answer.text()).toContain("Choose the log file first");
  });
});

describe("a session that two technicians have open", () => {
  let session = "";
  let benched: Delivery<BenchedCushion>;

  it("is shown to the second as held by the first, with nothing to press but taking it over", async () => {
    session = await begin(mine, shared);
    await hers.goto(session);
    expect(await hers.locator("main").textContent()).toContain("Tomasz Reed holds this session");
    for (const name of ["Ask it to report", "Show a pairing code", "Finish the session"])
      expect(await hers.getByRole("button", { name }).count()).toBe(0);
  });

  it("goes on with whoever took it over; what the first presses after that changes nothing and says who has it", async () => {
    await mine.route("**/live?*", (route) => route.abort());
    await mine.goto(session);
    await hers.getByRole("button", { name: "Take it over" }).click();
    await hers.getByRole("button", { name: "Go to it (Line sweep)" }).click();
    await hers.waitForLoadState();
    await mine.getByRole("button", { name: "Go to it (Battery)" }).click();
    expect(await mine.locator("#problems").textContent()).toContain(`${colleague} holds`);
    expect(await mine.locator("#step").textContent()).toContain("Line sweep");
    // Taking it back from a page on which it has gone on since is refused: it has to be looked at first.
    await hers.getByRole("button", { name: "Go to it (Empty map)" }).click();
    await hers.waitForLoadState();
    await mine.getByRole("button", { name: "Take it over" }).click();
    expect(await mine.locator("#problems").textContent()).toContain("look again before you take it over");
    await mine.getByRole("button", { name: "Take it over" }).click();
    await mine.getByRole("button", { name: "Go to it (Line sweep)" }).click();
    expect(await mine.locator("#step").textContent()).toContain("Line sweep");
  });

  it("goes on after the server was stopped and started, in the step it was in, with what was asked of the unit", async () => {
    await mine.getByRole("button", { name: "Show a pairing code" }).click();
    await mine.locator(".bench-code svg").waitFor();
    const code = await readCodeFrom(await mine.locator(".bench-code").screenshot());
    const unit = enrolled(await claim(programme, shared, code ?? ""));
    const cushion = new BenchedCushion(
      { ...soundCushion, serial: shared, grid },
      "restart",
      programme.clock.now(),
      1,
    );
    benched = new Delivery(cushion, unit, () => programme.clock.now());
    await benched.deliver(programme.clock.now(), 20);
    await benched.hangUp();
    programme.clock.move(30 * second);
    await mine.goto(session);
    await mine.getByRole("button", { name: "Let it test its lines" }).click();
    await mine.waitForLoadState();
    expect(await mine.locator("#step").textContent()).toContain("0 of 1 answers have come");

    await programme.restart();
    cushion.greet(programme.clock.now());
    expect(await benched.deliver(programme.clock.now(), 20)).toMatchObject({ problem: null });
    await expect
      .poll(
        async () => {
          await mine.goto(session);
          return mine.getByRole("button", { name: "Keep it" }).count();
        },
        { timeout: 20_000 },
      )
      .toBe(1);
    await mine.getByRole("button", { name: "Keep it" }).click();
    await mine.waitForLoadState();
    expect(await mine.locator("#steps").textContent()).toContain("Line sweep: ✓ pass");
    await benched.hangUp();
  }, 60_000);
});

describe("a unit that doesn’t pass", () => {
  async function finish(outcome: string, seen: string, more: (page: Page) => Promise<void> = async () => {}) {
    await mine.getByText("Write down the outcome").click();
    await mine.getByLabel(outcome, { exact: true }).check();
    await mine.getByLabel("Finding: what was seen").selectOption(seen);
    await mine
      .getByLabel("Conclusion: the cause")
      .selectOption(seen === "nothing-found" ? "no-fault-found" : "component-failed");
    await more(mine);
    await mine.getByRole("button", { name: "Finish the session" }).click();
    await mine.waitForLoadState();
  }
  const said = async () => (await mine.locator("main").textContent()) ?? "";

  it("is offered no pass before it was measured", async () => {
    await begin(mine, toRepair);
    expect(await mine.locator("#finish").textContent()).toMatch(/pass: Not done yet.*repair: may be chosen/);
    await mine.getByText("Write down the outcome").click();
    expect(await mine.getByLabel("pass", { exact: true }).count()).toBe(0);
    await mine.getByText("Write down the outcome").click();
  });

  it("to be repaired stays at the bench without a certificate, once it is said what is to be repaired", async () => {
    await finish("repair", "nothing-found");
    expect(await mine.locator("#problems").textContent()).toContain("Say what is to be repaired");
    await mine.getByLabel("Finding: what was seen").selectOption("electronics-fault");
    await mine.getByLabel("Conclusion: the cause").selectOption("component-failed");
    await mine.getByLabel("electronics", { exact: true }).check();
    await mine.getByLabel("Serial or lot of what was put in").fill("EL-0042");
    await mine.getByRole("button", { name: "Finish the session" }).click();
    await mine.waitForLoadState();
    expect(await said()).toMatch(/It ended on .*repair.*No certificate/);
    expect(placeOf(toRepair)).toBe("on-the-bench");
    await mine.goto(`/bench/units/${toRepair}`);
    expect(await said()).toMatch(/a fault of the electronics.*EL-0042/s);
    // It is measured again: nothing stands in the way of the next session.
    await begin(mine, toRepair);
    expect(await said()).toContain("Step 1 of");
  });

  it("to be retired says why first, comes back from nowhere, and leaves the worklist", async () => {
    const { services } = programme.running;
    const unit = unitSerial(toRetire);
    const bootedAt = programme.clock.now() - 20 * minute;
    const told = [
      hello({ uptime: 1, bootedAt, unit }),
      fault({ uptime: 900, bootedAt, sequence: 1, unit }, "wet"),
    ];
    await services.telemetry.append(told.map((each) => incoming(each, services.clock.now(), unit)));
    await assessUnit(services, unit);
    await mine.goto("/bench");
    expect(await said()).toContain(toRetire);
    await begin(mine, toRetire);
    await finish("retire", "battery-unsafe");
    expect(await mine.locator("#problems").textContent()).toContain("Write down why it is retired");
    await mine.getByLabel(/^Note/).fill("Cell swollen, foam soaked");
    await mine.getByRole("button", { name: "Finish the session" }).click();
    await mine.waitForLoadState();
    expect(await said()).toContain("Cell swollen, foam soaked");
    expect(placeOf(toRetire)).toBe("retired");
    await assessUnit(services, unit);
    await mine.goto("/bench");
    expect(await said()).not.toContain(toRetire);
    await mine.goto("/bench/sessions");
    expect(await mine.getByRole("button", { name: `Begin a session for ${toRetire}` }).count()).toBe(0);
    await mine.goto(`/bench/units/${toRetire}`);
    expect(await mine.getByRole("button", { name: /^Move/ }).count()).toBe(0);
  });
});
