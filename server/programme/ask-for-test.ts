import { newId } from "../chance.ts";
import { type StretchId, type TestRequestId, testRequestId } from "../domain/ids.ts";
import { candidateTest, foundBy, resultsOf } from "../domain/learning/test-results.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { stretchForClinician } from "../store/clinic-stretches.ts";
import { stretchWithLoan } from "../store/stretch-outcomes.ts";
import {
  insertTestRequest,
  saveTestResult,
  type TestRequestRow,
  testRequestById,
  testRequestsOf,
} from "../store/test-requests.ts";
import { judgeAgain } from "./judge-again.ts";
import { cluesSeen, recordOutcome } from "./record-outcome.ts";
import type { StaffActor } from "./staff-actor.ts";

/** Puts a test that would settle a stretch on the list of the desk that can do it. Asking twice asks once. */
export function askForTest(
  services: Services,
  actor: StaffActor,
  asked: { readonly stretch: StretchId; readonly test: string },
):
  | { readonly kind: "asked"; readonly desk: TestRequestRow["desk"] }
  | Refused<"not-your-person" | "no-such-test"> {
  const outcome = services.db.transaction(
    (tx) => {
      const stretch = stretchForClinician(tx, actor.id, asked.stretch);
      if (!stretch) return refused("not-your-person", "This stretch is not of a person on your list.");
      const test = candidateTest(stretch.kind, asked.test);
      if (!test || test.desk === "clinic")
        return refused("no-such-test", "There is no such test to ask another desk for.");
      const isOpen = ({ request }: ReturnType<typeof testRequestsOf>[number]) =>
        request.test === asked.test && request.doneAt === null && request.calledOffAt === null;
      if (testRequestsOf(tx, asked.stretch).some(isOpen)) return { kind: "asked", desk: test.desk } as const;
      const at = services.clock.now();
      const id = testRequestId(newId(services.chance, "test"));
      const nothingYet = { result: null, doneBy: null, doneAt: null, calledOffAt: null };
      insertTestRequest(tx, {
        id,
        stretchId: asked.stretch,
        test: asked.test,
        desk: test.desk,
        askedBy: actor.id,
        askedAt: at,
        ...nothingYet,
      });
      appendAudit(tx, {
        at,
        actor,
        action: "ask-for-test",
        subject: `stretch:${asked.stretch}`,
        detail: { request: id, test: asked.test, desk: test.desk },
      });
      return { kind: "asked", desk: test.desk } as const;
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "asked") services.live.changed(outcome.desk, `stretch:${asked.stretch}`);
  return outcome;
}

type ResultRule = "unknown-request" | "not-your-desk" | "already-done" | "no-such-result";

/** Writes down what a test showed, and judges the stretch again with it. A result that settles the cause is learned from. */
export async function recordTestResult(
  services: Services,
  actor: StaffActor,
  done: { readonly id: TestRequestId; readonly desk: "stores" | "bench"; readonly result: string },
): Promise<{ readonly kind: "recorded" } | Refused<ResultRule>> {
  const waiting = testRequestById(services.db, done.id);
  const clues = waiting ? await cluesSeen(services, waiting.stretchId) : [];
  const outcome = services.db.transaction(
    (tx) => {
      const request = testRequestById(tx, done.id);
      const stretch = request ? stretchWithLoan(tx, request.stretchId)?.stretch : undefined;
      if (!request || !stretch) return refused("unknown-request", "There is no such request.");
      if (request.desk !== done.desk) return refused("not-your-desk", "This test is for another desk.");
      if (request.doneAt !== null || request.calledOffAt !== null)
        return refused("already-done", "Somebody has answered this meanwhile.");
      if (!resultsOf(stretch.kind, request.test).includes(done.result))
        return refused("no-such-result", "Choose what the test showed.");
      const at = services.clock.now();
      saveTestResult(tx, request.id, { result: done.result, doneBy: actor.id, doneAt: at });
      appendAudit(tx, {
        at,
        actor,
        action: "record-test-result",
        subject: `stretch:${request.stretchId}`,
        detail: { request: request.id, test: request.test, result: done.result },
      });
      const found = foundBy(stretch.kind, request.test, done.result);
      const source = done.desk === "bench" ? "bench" : "visit";
      if (found) recordOutcome(services, tx, actor, { stretch: request.stretchId, source, ...found, clues });
      return { kind: "recorded", stretch: request.stretchId } as const;
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "refused") return outcome;
  services.live.changed(done.desk, "clinic", `stretch:${outcome.stretch}`);
  await judgeWith(services, outcome.stretch);
  return { kind: "recorded" };
}

async function judgeWith(services: Services, id: StretchId): Promise<void> {
  const found = stretchWithLoan(services.db, id);
  if (!found) return;
  const { startsAt: start, endsAt } = found.stretch;
  await judgeAgain(services, found.loan, { start, end: endsAt ?? services.clock.now() }, found.stretch.kind);
}
