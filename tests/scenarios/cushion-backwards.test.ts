import { eq } from "drizzle-orm";
import { afterEach, beforeEach, expect, test } from "vitest";
import { instant } from "../../server/domain/units.ts";
import { reviewUnit } from "../../server/programme/review-unit.ts";
import { identityQuestionsOfLoan } from "../../server/store/identity.ts";
import { ledgerDaysOf } from "../../server/store/ledger-days.ts";
import { audit } from "../../server/store/schema/audit.ts";
import { loan } from "../../server/store/schema/loans.ts";
import { clinicApp, person } from "../clinic/clinic-app.ts";
import { type TestServices, testServices, things } from "../support/cast.ts";
import { dayOfLife, livedFrom, sentBy, steadyLife, workedThroughAt } from "./lived-unit.ts";

const turnedFrom = dayOfLife(14);
/** 06:00 in London on 22 May. */
const putRight = dayOfLife(18);
/** Leans to the left alone: what is told of them on the other side can only be the cushion's doing. */
const onlyLeft = steadyLife(
  "backwards",
  { days: 20, faults: () => [{ kind: "turned-round", from: turnedFrom, until: putRight }] },
  { kinds: [["lean-left", 1]] },
);
const sent = sentBy(onlyLeft, things.lentUnit);
let services: TestServices;

beforeEach(() => {
  services = testServices();
  services.db.update(loan).set({ startedAt: livedFrom }).run();
});
afterEach(() => services.close());

test("cushion backwards: detected, corrected, earlier days relabelled, undoable", async () => {
  const desk = clinicApp(services);
  await workedThroughAt(services, things.lentUnit, sent, turnedFrom);
  expect(identityQuestionsOfLoan(services.db, things.loan)).toEqual([]);

  await workedThroughAt(services, things.lentUnit, sent, instant(turnedFrom + 2 * 86_400_000));
  const [asked] = identityQuestionsOfLoan(services.db, things.loan);
  expect(asked?.kind).toBe("turned");
  expect((await desk.page("/clinic")).text).toContain("The cushion may lie turned round or upside down");

  await workedThroughAt(services, things.lentUnit, sent, dayOfLife(20));
  const leans = async (of: string) => {
    const { text } = await desk.page(`${person}?from=2026-05-18&to=2026-05-21`);
    return Number(new RegExp(`figure=${of}[^"]*">(\\d+)<`).exec(text)?.[1]);
  };
  const told = { left: await leans("left"), right: await leans("right") };
  expect(told.right).toBeGreaterThan(10 * Math.max(1, told.left));

  const span = { start: turnedFrom, end: services.clock.now() };
  const raw = await services.telemetry.read(things.lentUnit, span);
  const ledger = () => ledgerDaysOf(services.db, things.loan).map(({ runs, due }) => ({ runs, due }));
  const before = ledger();
  const page = `/clinic/identity/${asked?.id}`;
  const form = (await desk.page(page)).text;
  expect(form).toContain('value="turned-half"');
  const fields = {
    answer: "confirmed",
    reason: "The cable came out at the front; it was put right.",
    record: "turned-half",
    // The morning of the wash, earlier than the first sit by which it was told.
    from: "2026-05-18T06:00",
    until: "2026-05-22T06:00",
  };
  const kept = await desk.send(page, fields);
  expect(kept.status).toBe(303);
  await reviewUnit(services, things.lentUnit, { afresh: true });
  expect(await leans("left")).toBe(told.right);
  expect(await leans("right")).toBe(told.left);
  expect(await services.telemetry.read(things.lentUnit, span)).toEqual(raw);
  expect((await desk.page(page)).text).toContain("left and right and front and rear change places");

  await desk.send(`${page}/undo`, {});
  await reviewUnit(services, things.lentUnit, { afresh: true });
  expect(await leans("right")).toBe(told.right);
  expect(ledger()).toEqual(before);
  const said = services.db
    .select()
    .from(audit)
    .where(eq(audit.subject, `loan:${things.loan}`))
    .all();
  expect(said.map(({ action }) => action)).toEqual([
    "ask-whose-record",
    "answer-whose-record",
    "undo-whose-record",
  ]);
});
