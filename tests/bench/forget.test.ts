import { afterAll, beforeAll, expect, it } from "vitest";
import { BenchedCushion } from "../../scripts/simulated-cushions/benched-cushion.ts";
import { Delivery } from "../../scripts/simulated-cushions/delivery.ts";
import { type BenchSessionId, unitSerial } from "../../server/domain/ids.ts";
import { instant, millisecondsIn } from "../../server/domain/units.ts";
import { issueBenchCode } from "../../server/enrolment/issue-bench-code.ts";
import { finishSession } from "../../server/programme/bench-finish.ts";
import { askToForget, forgettingOfUnit } from "../../server/programme/bench-forget.ts";
import { startBenchSession } from "../../server/programme/bench-start.ts";
import { endLoan } from "../../server/programme/end-loan.ts";
import { moveUnit } from "../../server/programme/move-unit.ts";
import { audit } from "../../server/store/schema/audit.ts";
import { claim, enrolled, hangUp, lastAfternoon, live, moveIn } from "../support/homes.ts";
import { addStock, done, grid, type Programme, startProgramme } from "../support/programme.ts";

const { hour, second } = millisecondsIn;
const serial = unitSerial("CU-000411");
let programme: Programme;
let benched: Delivery<BenchedCushion>;
let session: BenchSessionId;

beforeAll(async () => {
  const startsAt = lastAfternoon(Date.now() - 48 * hour);
  programme = await startProgramme(startsAt);
  addStock(programme, serial);
  const home = await moveIn(programme, { borrower: "Person One", serial });
  await live(programme, [home], instant(startsAt + hour));
  await hangUp([home]);
  const { services, enrolment } = programme.running;
  const coordinator = programme.actor("coordinator");
  const end = { reason: "no longer needed", surface: "not-needed", unitTo: "quarantine" } as const;
  done(endLoan(services, coordinator, { loan: home.loan, ...end }));
  done(moveUnit(services, coordinator, { unit: serial, from: "quarantine", to: "cleaning" }));
  done(moveUnit(services, coordinator, { unit: serial, from: "cleaning", to: "on-the-bench" }));
  const technician = programme.actor("technician");
  ({ session } = done(startBenchSession(services, technician, serial)));
  expect(askToForget(services, technician, { session, version: 1 })).toMatchObject({ rule: "not-connected" });
  const { jws } = done(await issueBenchCode(services, enrolment, technician, session));
  const spec = { ...home.delivery.cushion.spec, grid };
  const cushion = new BenchedCushion(spec, "stories", programme.clock.now(), 5);
  const unit = enrolled(await claim(programme, serial, jws));
  benched = new Delivery(cushion, unit, () => programme.clock.now());
  await benched.deliver(programme.clock.now(), 20);
});
afterAll(async () => {
  await benched?.hangUp();
  await programme?.stop();
});

const keeps = () => forgettingOfUnit(programme.running.services.db, serial);

it("a unit that comes back still keeps what it recorded, and doesn't pass into stock with it", async () => {
  expect(keeps()).toMatchObject({ kind: "keeps" });
  const pass = await finishSession(
    programme.running.services,
    programme.actor("technician"),
    { session, version: 1 },
    {
      outcome: "pass",
      code: { problem: "routine-check", seen: "nothing-found", conclusion: "no-fault-found" },
      parts: [],
      note: null,
    },
    async () => "never signed",
  );
  expect(pass).toMatchObject({ kind: "refused", rule: "outcome-not-open" });
  expect(JSON.stringify(pass)).toContain("still keeps what it recorded in its last loan");
});

it("is told to forget over the session's certificate, says that it did, and both are in the audit", async () => {
  const { services } = programme.running;
  const technician = programme.actor("technician");
  programme.clock.move(30 * second);
  done(askToForget(services, technician, { session, version: 1 }));
  expect(keeps()).toMatchObject({ kind: "under-way" });
  expect(askToForget(services, technician, { session, version: 1 })).toMatchObject({ rule: "asked-already" });
  for (let tries = 0; tries < 40 && keeps().kind !== "forgot"; tries += 1) {
    await benched.deliver(programme.clock.now(), 5);
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
  expect(keeps()).toMatchObject({ kind: "forgot" });
  const rows = services.db.select().from(audit).all();
  const said = rows.filter(({ action }) => action === "ask-unit-to-forget" || action === "answer-command");
  expect(said.map(({ action }) => action)).toContain("ask-unit-to-forget");
  expect(JSON.stringify(said)).toContain('"done"');
});

it("is not asked by whoever doesn't hold the session", () => {
  const other = programme.actor("coordinator");
  const outcome = askToForget(programme.running.services, other, { session, version: 1 });
  expect(outcome).toMatchObject({ kind: "refused", rule: "held-by-another" });
});
