import type { Hono } from "hono";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { planId } from "../../server/domain/ids.ts";
import { kilograms, millimetres, minutes, seconds } from "../../server/domain/units.ts";
import { type Enrolment, openEnrolment } from "../../server/enrolment/enrolment.ts";
import { createApp } from "../../server/http/app.ts";
import type { AppEnv } from "../../server/http/route.ts";
import { storesRoutes } from "../../server/http/stores-routes.tsx";
import { addBorrower } from "../../server/programme/add-borrower.ts";
import { addUnit } from "../../server/programme/add-unit.ts";
import { openLoan } from "../../server/programme/open-loan.ts";
import { openLoans } from "../../server/store/loans.ts";
import { reliefPlan } from "../../server/store/schema/loans.ts";
import {
  cast,
  type SignedInRequest,
  signedInAs,
  type TestServices,
  testServices,
  things,
} from "../support/cast.ts";

let services: TestServices;
let enrolment: Enrolment;
let app: Hono<AppEnv>;
let coordinator: SignedInRequest;

beforeEach(async () => {
  services = testServices();
  enrolment = await openEnrolment(services, {
    dataFolder: services.dataFolder,
    broker: { host: "localhost", port: 8883 },
  });
  app = createApp(services, storesRoutes(services, enrolment), { baseUrl: "http://localhost" });
  coordinator = signedInAs(services, "coordinator");
});
afterEach(() => services.close());

const get = async (path: string) => {
  const response = await app.request(path, { headers: coordinator.headers });
  return { status: response.status, text: await response.text() };
};
const post = async (path: string, fields: Record<string, string> = {}) => {
  const response = await app.request(path, coordinator.post(fields));
  return {
    status: response.status,
    text: await response.text(),
    location: response.headers.get("location") ?? "",
  };
};
/** What a reader reads, without the markup. */
const wordsOf = (html: string) => html.replace(/<[^>]+>/g, "");
const endForm = { reason: "no longer needed", unitTo: "coming-back", surface: "not-needed" };

/** One more borrower with a plan, a unit and an open loan that has no code yet. */
function lendAnother(index: number): void {
  const actor = { kind: "staff", id: cast.coordinator.id } as const;
  const added = addBorrower(services, actor, {
    name: `Person ${index}`,
    area: "South",
    address: "2 Invented Row",
    phone: "none",
    weight: kilograms(70),
    seatWidth: millimetres(430),
    seatDepth: millimetres(430),
    clinicianId: cast.clinician.id,
  });
  const unit = addUnit(services, actor, {
    serial: `CU-0009${index}`,
    model: things.model,
    lot: things.lot,
    place: "in-stock",
  });
  if (added.kind !== "added" || unit.kind !== "added") throw new Error("neither should be refused");
  services.db
    .insert(reliefPlan)
    .values({
      id: planId(`plan_${index}`),
      borrowerId: added.borrower,
      version: 1,
      validFrom: services.clock.now(),
      interval: minutes(30),
      hold: seconds(120),
      kinds: ["lift"],
      setBy: cast.clinician.id,
    })
    .run();
  const opened = openLoan(services, actor, { unit: unit.unit, borrower: added.borrower, dueBackOn: null });
  if (opened.kind !== "opened") throw new Error(opened.sentence);
}

describe("the pages of Stores", () => {
  it("say that nothing waits, and when that was checked", async () => {
    const { status, text } = await get("/stores");
    expect(status).toBe(200);
    expect(text).toContain("Nothing waits");
    expect(text).toContain("Last checked at 09:00");
  });

  it("open a loan, issue its code, show it as a picture and in letters with initials only, and withdraw it", async () => {
    const form = await get(`/stores/loans/new?borrower=${things.otherBorrower}`);
    expect(form.text).toContain("CU-000102");
    const opened = await post("/stores/loans/new", {
      borrower: things.otherBorrower,
      unit: things.stockUnit,
    });
    expect(opened.status).toBe(303);
    const page = opened.location.replace(/\?.*/, "");
    expect((await get(page)).text).toContain("No code has been issued for this loan");
    expect((await get("/stores")).text).toContain("has no pairing code yet");

    expect((await post(`${page}/pairing-code`, { "instead-of": "" })).location).toBe(`${page}/pairing-code`);
    const sheet = (await get(`${page}/pairing-code`)).text;
    expect(sheet).toMatch(/<svg class="pairing-code"/);
    expect(sheet).toContain("P. T.");
    expect(sheet).not.toContain("Person Two");
    expect((await get(page)).text).toContain("not used yet");

    const again = await post(`${page}/pairing-code`, { "instead-of": "" });
    expect(again.status).toBe(409);
    expect(again.text).toContain("issued already");

    const code = /name="code" value="([^"]+)"/.exec((await get(page)).text)?.[1] ?? "";
    expect((await post(`${page}/pairing-code/withdraw`, { code })).status).toBe(303);
    expect((await get(`${page}/pairing-code`)).status).toBe(409);
  });

  it("refuse a loan at a named gate, with the nearest unit that suits, and keep what was typed", async () => {
    const answer = await post("/stores/loans/new", {
      borrower: things.otherBorrower,
      unit: things.lentUnit,
      dueBackOn: "2026-08-01",
    });
    expect(answer.status).toBe(409);
    expect(answer.text).toContain("It is on loan, not in stock.");
    expect(answer.text).toContain("The nearest that suits is CU-000102.");
    expect(answer.text).toContain('value="2026-08-01"');
  });

  it("say which field is wrong, and lose nothing that was typed", async () => {
    const answer = await post("/stores/borrowers/new", {
      name: "Person <Three>",
      area: "South",
      address: "2 Invented Row",
      phone: "none",
      seatWidth: "wide",
      seatDepth: "42.5",
      weight: "7000",
      clinicianId: cast.clinician.id,
    });
    expect(answer.status).toBe(422);
    expect(answer.text).toContain("Enter a number.");
    expect(answer.text).toContain("Enter 400 or less.");
    for (const kept of ["Person &lt;Three&gt;", 'value="wide"', 'value="42.5"', 'value="7000"'])
      expect(answer.text).toContain(kept);
  });

  it("end a loan only with an answer to what the person sits on, and once", async () => {
    const path = `/stores/loans/${things.loan}/end`;
    const { surface, ...unanswered } = endForm;
    const asked = await post(path, unanswered);
    expect(asked.status).toBe(422);
    expect(asked.text).toContain("before the cushion goes");
    expect(asked.text).toContain('value="no longer needed"');
    expect(openLoans(services.db)).toHaveLength(1);

    expect((await post(path, { ...unanswered, surface })).status).toBe(303);
    const second = await post(path, endForm);
    expect(second.status).toBe(409);
    expect(second.text).toContain("L-0001 has already ended. Nothing was done twice.");
    expect((await get("/stores")).text).toContain("CU-000101");
  });

  it("plan a swap, put it on the run sheet with initials only, and record it", async () => {
    const planned = await post(`/stores/loans/${things.loan}/swap`, {
      replacement: things.stockUnit,
      day: "2026-05-03",
      doneBy: cast.technician.id,
      reason: "a column is dead",
    });
    expect(planned.status).toBe(303);
    expect(wordsOf((await get("/stores")).text)).toContain("bring CU-000102 and take CU-000101 back");
    const sheet = (await get(`/stores/visits/run-sheet?person=${cast.technician.id}&day=2026-05-03`)).text;
    expect(sheet).toContain("P. O.");
    expect(sheet).not.toContain("Person One");
    expect(sheet).toContain("Clean before dirty");
    const visit = /\/stores\/visits\/(visit_[a-z0-9]+)/.exec((await get("/stores/visits")).text)?.[1] ?? "";
    expect((await post(`/stores/visits/${visit}/complete`, { unitTo: "quarantine" })).status).toBe(303);
    const second = await post(`/stores/visits/${visit}/complete`, { unitTo: "quarantine" });
    expect(second.status).toBe(409);
    expect(second.text).toContain("done already");
  });

  it("open a recall, show its count, and refuse to close it while a unit is outstanding", async () => {
    const opened = await post("/stores/recalls/new", {
      title: "connector may heat up",
      advice: "Unplug the charger now.",
      criterion: "lot",
      value: things.lot,
    });
    const page = opened.location;
    const shown = (await get(page)).text;
    expect(shown).toContain("Affected 2 = 2 outstanding");
    expect(shown).toContain("Person One");
    const closing = await post(`${page}/close`);
    expect(closing.status).toBe(409);
    expect(closing.text).toContain("Being told is not being acted on");
    await post(`${page}/outcome`, {
      unit: things.lentUnit,
      outcome: "corrected-in-place",
      evidence: "new cable fitted",
    });
    expect((await get(page)).text).toContain("Affected 2 = 1 outstanding + 1 corrected in place");
  });

  it("add a unit and move it, and refuse a way into stock that skips the bench", async () => {
    const added = await post("/stores/units/new", {
      serial: "cu-000555",
      model: things.model,
      lot: "LOT-B",
      place: "on-the-bench",
    });
    expect(added.location).toContain("/stores/units/CU-000555");
    const move = (from: string, to: string) => post("/stores/units/CU-000555/move", { from, to });
    expect((await move("on-the-bench", "quarantine")).status).toBe(303);
    const refusedMove = await move("quarantine", "in-stock");
    expect(refusedMove.status).toBe(409);
    expect(refusedMove.text).toContain(
      "From quarantine the next place is cleaning, retired or missing, not in stock.",
    );
    expect((await get("/stores/units")).text).toContain("CU-000555");
  });

  it("show the coordinator no relief and no plan, only that there is one", async () => {
    const pages = [
      "/stores",
      "/stores/loans",
      `/stores/loans/${things.loan}`,
      `/stores/borrowers/${things.borrower}`,
      `/stores/loans/new?borrower=${things.otherBorrower}`,
    ];
    for (const path of pages) {
      const { status, text } = await get(path);
      expect(status).toBe(200);
      expect(text).not.toMatch(/lean-left|every 30 min|120 s|reliefs (met|missed|due)/i);
    }
  });

  it("never answer a technician or a clinician with a borrower's name, whatever they send", async () => {
    const attempts = [
      ["technician", `/stores/units/${things.lentUnit}/move`, { from: "on-loan", to: "in-stock" }],
      ["clinician", `/stores/loans/${things.loan}/notes`, { kind: "call" }],
    ] as const;
    for (const [who, path, fields] of attempts) {
      const response = await app.request(path, signedInAs(services, who).post(fields));
      expect([303, 403]).toContain(response.status);
      expect(await response.text()).not.toContain("Person One");
    }
  });

  it("answer a loan, unit, visit or recall that isn't there with a page that says so", async () => {
    for (const path of [
      "/stores/loans/x",
      "/stores/units/x",
      "/stores/visits/x",
      "/stores/recalls/x",
      "/stores/borrowers/x",
    ])
      expect((await get(path)).status).toBe(404);
  });

  it("take no more queries for many rows than for few", async () => {
    const count = async (path: string) => {
      let queries = 0;
      const prepare = services.database.driver.prepare.bind(services.database.driver);
      services.database.driver.prepare = (source: string) => {
        queries += 1;
        return prepare(source);
      };
      await get(path);
      services.database.driver.prepare = prepare;
      return queries;
    };
    const paths = ["/stores", "/stores/loans", "/stores/borrowers", "/stores/units", "/stores/visits"];
    const few: number[] = [];
    for (const path of paths) few.push(await count(path));
    expect(Math.min(...few)).toBeGreaterThan(0);
    for (let index = 0; index < 12; index++) lendAnother(index);
    const many: number[] = [];
    for (const path of paths) many.push(await count(path));
    expect(many).toEqual(few);
  });
});
