import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  type CodeFacts,
  claimStep,
  codeState,
  sameKeyGrace,
  withdrawStep,
} from "../../server/domain/enrolment/pairing-code-state.ts";
import { instant } from "../../server/domain/units.ts";

const expiresAt = instant(1_000_000);
const fresh: CodeFacts = { expiresAt, withdrawnAt: null, spentAt: null, spentByKey: null };

type Event = { readonly wait: number; readonly kind: "claim" | "withdraw"; readonly key: string };

const anyEvents = fc.array(
  fc.record({
    wait: fc.oneof(fc.constant(0), fc.constant(1), fc.integer({ min: 0, max: 700_000 })),
    kind: fc.constantFrom("claim" as const, "withdraw" as const),
    key: fc.constantFrom("key-1", "key-2", "key-3"),
  }),
  { maxLength: 30 },
);

interface Step {
  readonly event: Event;
  readonly before: CodeFacts;
  readonly after: CodeFacts;
  readonly now: ReturnType<typeof instant>;
  readonly answer: string;
}

/** Plays the events against one code, the way the registry does. */
function play(events: readonly Event[]): readonly Step[] {
  let code = fresh;
  let now = instant(0);
  return events.map((event) => {
    now = instant(now + event.wait);
    const before = code;
    const step = event.kind === "claim" ? claimStep(code, event.key, now) : withdrawStep(code, now);
    if (step.kind === "spend" || step.kind === "withdraw") code = step.code;
    return { event, before, after: code, now, answer: step.kind };
  });
}

describe("a pairing code, whatever is done to it in whatever order", () => {
  test("is spent once at most, and never after it was withdrawn or has expired", () => {
    fc.assert(
      fc.property(anyEvents, (events) => {
        const steps = play(events);
        const spends = steps.filter((step) => step.answer === "spend");
        expect(spends.length).toBeLessThanOrEqual(1);
        for (const spend of spends) {
          expect(spend.now).toBeLessThan(expiresAt);
          expect(spend.before.withdrawnAt).toBeNull();
        }
      }),
      { numRuns: 500 },
    );
  });

  test("never leaves the state in which it ended", () => {
    fc.assert(
      fc.property(anyEvents, (events) => {
        let ended: string | null = null;
        for (const step of play(events)) {
          const state = codeState(step.after, step.now);
          if (ended !== null) expect(state).toBe(ended);
          if (state !== "issued") ended = state;
        }
      }),
      { numRuns: 500 },
    );
  });

  test("gives its certificate again only to the key that spent it, and only within the grace", () => {
    fc.assert(
      fc.property(anyEvents, (events) => {
        for (const { answer, before, event, now } of play(events)) {
          if (answer !== "same-again") continue;
          expect(event.key).toBe(before.spentByKey);
          expect(now - (before.spentAt ?? Number.NaN)).toBeLessThan(sameKeyGrace);
        }
      }),
      { numRuns: 500 },
    );
  });
});

test("the grace lasts ten minutes and not a millisecond longer", () => {
  const spent: CodeFacts = { ...fresh, spentAt: instant(500), spentByKey: "key-1" };
  expect(claimStep(spent, "key-1", instant(500 + 599_999)).kind).toBe("same-again");
  expect(claimStep(spent, "key-1", instant(500 + 600_000))).toEqual({
    kind: "refused",
    reason: "already-used",
  });
});

test("a code can be used until the last millisecond before it expires", () => {
  expect(codeState(fresh, instant(999_999))).toBe("issued");
  expect(codeState(fresh, expiresAt)).toBe("expired");
});
