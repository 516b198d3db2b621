import { eq } from "drizzle-orm";
import { afterEach, beforeEach, expect, test } from "vitest";
import { findingId, identityQuestionId, loanId, unitSerial } from "../../server/domain/ids.ts";
import { type Instant, instant } from "../../server/domain/units.ts";
import { createApp } from "../../server/http/app.ts";
import { clinicRoutes } from "../../server/http/clinic-routes.tsx";
import { answerIdentity, undoIdentity } from "../../server/programme/answer-identity.ts";
import { loanDays } from "../../server/programme/loan-days.ts";
import { lookForIdentityTrouble } from "../../server/programme/look-for-identity-trouble.ts";
import { reviewUnit } from "../../server/programme/review-unit.ts";
import { identityQuestionsOfLoan, insertIdentityQuestion } from "../../server/store/identity.ts";
import { ledgerDaysOf } from "../../server/store/ledger-days.ts";
import { audit } from "../../server/store/schema/audit.ts";
import { unit } from "../../server/store/schema/equipment.ts";
import { finding } from "../../server/store/schema/health.ts";
import { borrower, loan } from "../../server/store/schema/loans.ts";
import { cast, signedInAs, type TestServices, testServices, testStart, things } from "../support/cast.ts";
import { recordedUnit } from "../verdicts/recorded-unit.ts";

const minute = 60_000;
const ago = (minutes: number): Instant => instant(testStart - minutes * minute);
const other = { serial: unitSerial("CU-000601"), loan: loanId("loan_other") };
const question = identityQuestionId("question_1");
const actor = { kind: "staff", id: cast.clinician.id } as const;
let services: TestServices;
let boots = 1;

/** The lent unit seated for five hours, the other one empty for the same time. */
beforeEach(async () => {
  services = testServices();
  services.db
    .insert(unit)
    .values({
      serial: other.serial,
      modelId: things.model,
      lotId: things.lot,
      place: "on-loan",
      placeSince: ago(600),
    })
    .run();
  services.db
    .update(loan)
    .set({ startedAt: ago(400) })
    .run();
  services.db.update(borrower).set({ clinicianId: cast.clinician.id }).run();
  services.db
    .insert(loan)
    .values({
      id: other.loan,
      reference: "L-0601",
      unitSerial: other.serial,
      borrowerId: things.otherBorrower,
      openedAt: ago(600),
      startedAt: ago(400),
    })
    .run();
  for (const [serial, loaded] of [
    [things.lentUnit, true],
    [other.serial, false],
  ] as const) {
    const one = recordedUnit(serial, 1, ago(300));
    one.hello(ago(300));
    one.minutes(295, loaded ? {} : { loaded: false, loadHectograms: 0 }, ago(1));
    await services.telemetry.append(one.sent);
  }
  insertIdentityQuestion(services.db, {
    id: question,
    kind: "swapped",
    loanId: things.loan,
    otherLoanId: other.loan,
    startsAt: ago(200),
    endsAt: ago(100),
    foundAt: testStart,
    probability: 700_000,
    evidence: ["All of the last 5 sits were by another body."],
    answer: null,
    reason: null,
    answeredBy: null,
    answeredAt: null,
  });
  await review();
});
afterEach(() => services.close());

const review = async () => {
  for (const serial of [things.lentUnit, other.serial]) await reviewUnit(services, serial, { afresh: true });
};
const ledger = (id: typeof other.loan) =>
  ledgerDaysOf(services.db, id).map(({ minutes, runs, due }) => ({ minutes, runs, due }));
const sum = (id: typeof other.loan, state: "seated" | "off" | "not-trusted") =>
  ledgerDaysOf(services.db, id).reduce((total, { minutes }) => total + minutes[state], 0);
const answer = (record: "keep" | "nobody" | "other", over: { from?: Instant; until?: Instant } = {}) =>
  answerIdentity(services, actor, {
    question,
    answer: "confirmed",
    reason: "Both read their labels to me.",
    record,
    from: over.from ?? ago(200),
    until: over.until ?? ago(100),
  });

test("a record that is nobody's counts as not known, and undoing it gives the same ledger to the last digit", async () => {
  const before = ledger(things.loan);
  const seated = sum(things.loan, "seated");
  expect(answer("nobody")).toEqual({ kind: "answered" });
  await review();
  expect(sum(things.loan, "not-trusted")).toBe(100);
  expect(sum(things.loan, "seated")).toBe(seated - 100);
  expect(undoIdentity(services, actor, question)).toEqual({ kind: "undone" });
  await review();
  expect(ledger(things.loan)).toEqual(before);
  const actions = services.db
    .select()
    .from(audit)
    .all()
    .map(({ action }) => action);
  expect(actions.slice(-2)).toEqual(["answer-whose-record", "undo-whose-record"]);
});

test("what is somebody else's is no part of a person's habits, on either unit", async () => {
  const span = { start: ago(400), end: testStart };
  const seatedMinutes = async (id: typeof other.loan, unitSerial: typeof other.serial) => {
    const lent = { id, unitSerial, borrowerId: things.otherBorrower, startedAt: null, endedAt: null };
    return (await loanDays(services).partOf(lent, span)).digest.seatedMinutes;
  };
  const own = await seatedMinutes(things.loan, things.lentUnit);
  expect(await seatedMinutes(other.loan, other.serial)).toBe(0);
  answer("other");
  expect(await seatedMinutes(things.loan, things.lentUnit)).toBe(own - 100);
  expect(await seatedMinutes(other.loan, other.serial)).toBe(100);
});

test("swapped homes: each loan has what its own person did, and the raw record is untouched", async () => {
  const raw = await services.telemetry.read(things.lentUnit, { start: ago(400), end: testStart });
  expect(answer("other")).toEqual({ kind: "answered" });
  await review();
  expect(sum(things.loan, "off")).toBe(100);
  expect(sum(other.loan, "seated")).toBe(100);
  expect(sum(things.loan, "not-trusted")).toBe(0);
  expect(await services.telemetry.read(things.lentUnit, { start: ago(400), end: testStart })).toEqual(raw);
});

test("a span outside the loan and a second answer are refused with the rule", () => {
  expect(answer("nobody", { from: ago(500) })).toMatchObject({ rule: "span-outside-loan" });
  expect(answer("nobody", { until: instant(testStart + minute) })).toMatchObject({
    rule: "span-outside-loan",
  });
  expect(answer("keep")).toEqual({ kind: "answered" });
  expect(answer("keep")).toMatchObject({ rule: "answered-already" });
});

test("the question stands on the clinician's list, its page asks kindly, and a form without a reason comes back", async () => {
  const app = createApp(services, clinicRoutes(services), { baseUrl: "http://localhost" });
  const { headers, post } = signedInAs(services, "clinician");
  const list = await (await app.request("/clinic", { headers })).text();
  expect(list).toContain("Whose record is this?");
  const page = await (await app.request(`/clinic/identity/${question}`, { headers })).text();
  expect(page).toContain("read me the number on the label");
  const back = await app.request(
    `/clinic/identity/${question}`,
    post({ answer: "confirmed", record: "nobody" }),
  );
  expect(back.status).toBe(422);
  const stranger = signedInAs(services, "otherClinician").headers;
  expect((await app.request(`/clinic/identity/${question}`, { headers: stranger })).status).toBe(404);
});

test("a grid that has gone partly blind weighs less by itself: its loads ask about nobody", async () => {
  const normal = (serial: typeof other.serial, at: Instant, hectograms: number) => {
    const one = recordedUnit(serial, boots++, at);
    one.hello(at);
    one.minutes(30, { loadHectograms: hectograms }, at);
    one.minutes(15, { loaded: false, loadHectograms: 0 }, at);
    return one.sent;
  };
  const fresh = testServices();
  const day = 24 * 60 * minute;
  for (let back = 27; back >= 1; back -= 1)
    for (const hours of [0, 4])
      await fresh.telemetry.append(
        normal(things.lentUnit, instant(testStart - back * day + hours * 60 * minute), back > 6 ? 640 : 480),
      );
  fresh.db
    .insert(finding)
    .values({
      id: findingId("finding_column"),
      unitSerial: things.lentUnit,
      kind: "column-open",
      place: "column 7",
      level: "act-soon",
      probability: 950_000,
      sentence: "",
      mistakenFor: "",
      settledBy: "",
      since: instant(testStart - 6 * day),
      lastSeenAt: testStart,
    })
    .run();
  await lookForIdentityTrouble(fresh, things.lentUnit);
  expect(identityQuestionsOfLoan(fresh.db, things.loan)).toEqual([]);
  fresh.db.update(finding).set({ clearedAt: testStart }).run();
  await lookForIdentityTrouble(fresh, things.lentUnit);
  expect(identityQuestionsOfLoan(fresh.db, things.loan).map(({ kind }) => kind)).toEqual(["swapped"]);
  await lookForIdentityTrouble(fresh, things.lentUnit);
  expect(identityQuestionsOfLoan(fresh.db, things.loan)).toHaveLength(1);
  fresh.close();
});

test("a question is withdrawn when a fault of the grid turns out to explain it, and no other fault does", async () => {
  const gridFault = (since: Instant) => ({
    id: findingId("finding_column"),
    unitSerial: things.lentUnit,
    kind: "column-open" as const,
    place: "column 7",
    level: "act-soon" as const,
    probability: 950_000,
    sentence: "Column 7 no longer answers.",
    mistakenFor: "",
    settledBy: "",
    since,
    lastSeenAt: testStart,
  });
  const asked = () => identityQuestionsOfLoan(services.db, things.loan).find(({ id }) => id === question);
  const twoDays = 2 * 24 * 60 * minute;
  services.db
    .insert(finding)
    .values(gridFault(instant(testStart + twoDays)))
    .run();
  await lookForIdentityTrouble(services, things.lentUnit);
  expect(asked()?.answer).toBeNull();
  services.db
    .update(finding)
    .set({ since: ago(250), judgement: "refuted" })
    .run();
  await lookForIdentityTrouble(services, things.lentUnit);
  expect(asked()?.answer).toBeNull();
  services.db.update(finding).set({ judgement: null }).run();
  await lookForIdentityTrouble(services, things.lentUnit);
  expect(asked()).toMatchObject({ answer: "withdrawn", answeredBy: null, answeredAt: testStart });
  const kept = services.db.select().from(audit).where(eq(audit.action, "withdraw-whose-record")).all();
  expect(kept).toHaveLength(1);
  const app = createApp(services, clinicRoutes(services), { baseUrl: "http://localhost" });
  const { headers } = signedInAs(services, "clinician");
  const page = await (await app.request(`/clinic/identity/${question}`, { headers })).text();
  expect(page).toContain("Column 7 no longer answers.");
  expect(page).not.toContain("Keep this answer");
  expect(await (await app.request("/clinic", { headers })).text()).not.toContain(question);
  expect(answer("nobody")).toMatchObject({ kind: "refused", rule: "answered-already" });
});

test("with a colleague's person it is nobody's here and a question there; when both have confirmed, the records change places, and either can undo", async () => {
  services.db
    .update(borrower)
    .set({ clinicianId: cast.otherClinician.id })
    .where(eq(borrower.id, things.otherBorrower))
    .run();
  const [mine, theirs] = [ledger(things.loan), ledger(other.loan)];
  const app = createApp(services, clinicRoutes(services), { baseUrl: "http://localhost" });
  const page = async (id: string, who: "clinician" | "otherClinician") =>
    (await app.request(`/clinic/identity/${id}`, { headers: signedInAs(services, who).headers })).text();
  expect(await page(question, "clinician")).toContain("a colleague is asked about the other loan");
  expect(answer("other")).toEqual({ kind: "answered" });
  await review();
  expect(sum(things.loan, "not-trusted")).toBe(100);
  expect(ledger(other.loan)).toEqual(theirs);
  const [asked, ...more] = identityQuestionsOfLoan(services.db, other.loan);
  expect(more).toEqual([]);
  expect(asked).toMatchObject({ kind: "swapped", otherLoanId: things.loan, answer: null });
  const shown = await page(asked?.id ?? "", "otherClinician");
  expect(shown).toContain("A colleague has confirmed");
  expect(shown).not.toContain("Person One");
  const colleague = { kind: "staff", id: cast.otherClinician.id } as const;
  const back = { answer: "confirmed", reason: "They read it to me.", record: "other" } as const;
  const theirAnswer = { question: asked?.id ?? question, ...back, from: ago(200), until: ago(100) };
  expect(answerIdentity(services, actor, theirAnswer)).toMatchObject({ rule: "unknown-question" });
  expect(answerIdentity(services, colleague, theirAnswer)).toEqual({ kind: "answered" });
  await review();
  expect([sum(things.loan, "off"), sum(things.loan, "not-trusted")]).toEqual([100, 0]);
  expect([sum(other.loan, "seated"), sum(other.loan, "not-trusted")]).toEqual([100, 0]);
  const filed = await page(question, "clinician");
  expect(filed).toContain("is filed under loan L-0001");
  expect(filed).not.toContain("Person Two");
  // Nobody is asked a second time.
  expect(identityQuestionsOfLoan(services.db, things.loan)).toHaveLength(1);
  expect(undoIdentity(services, colleague, question)).toMatchObject({ rule: "unknown-question" });
  undoIdentity(services, actor, question);
  await review();
  expect(ledger(things.loan)).toEqual(mine);
  expect(sum(other.loan, "not-trusted")).toBe(100);
  undoIdentity(services, colleague, asked?.id ?? question);
  await review();
  expect(ledger(things.loan)).toEqual(mine);
  expect(ledger(other.loan)).toEqual(theirs);
  const actions = services.db
    .select()
    .from(audit)
    .all()
    .map(({ action }) => action);
  expect(actions.filter((action) => /whose-record/.test(action))).toEqual([
    "ask-whose-record",
    "answer-whose-record",
    "answer-whose-record",
    "undo-whose-record",
    "undo-whose-record",
  ]);
});
