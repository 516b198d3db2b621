import fc from "fast-check";
import { describe, expect, it } from "vitest";
import {
  type CommandEvent,
  type CommandStanding,
  commandStep,
} from "../../server/domain/commands/command-state.ts";
import { instant } from "../../server/domain/units.ts";

const expiresAt = instant(1_000);
const fresh: CommandStanding = { state: "waiting", expiresAt, sentAt: null, answer: null, answeredAt: null };
const at = fc.integer({ min: 0, max: 2_000 }).map(instant);
const event: fc.Arbitrary<CommandEvent> = fc.oneof(
  at.map((when) => ({ kind: "acknowledged", at: when }) as const),
  at.map((when) => ({ kind: "time-passed", at: when }) as const),
  fc.tuple(at, fc.constantFrom("accepted", "done", "refused", "expired")).map(([when, state]) => {
    const reason = state === "refused" ? "busy" : null;
    return { kind: "answered", at: when, answer: { state, reason, detail: null } } as const;
  }),
);
const standingAfter = (events: readonly CommandEvent[]): CommandStanding =>
  events.reduce((standing, next) => commandStep(standing, next) ?? standing, fresh);
const ended = ({ state }: CommandStanding): boolean => ["done", "refused", "expired"].includes(state);

describe("a command, whatever comes in whatever order", () => {
  it("never leaves the state it ended in, and keeps the first ending answer", () => {
    fc.assert(
      fc.property(fc.array(event), event, (events, next) => {
        const before = standingAfter(events);
        const then = commandStep(before, next) ?? before;
        if (ended(before)) expect(then.state).toBe(before.state);
        if (before.answer !== null && before.answer.state !== "accepted")
          expect(then.answer).toEqual(before.answer);
        if (before.sentAt !== null) expect(then.sentAt).toBe(before.sentAt);
      }),
    );
  });

  it("takes every event once: the same again changes nothing", () => {
    fc.assert(
      fc.property(fc.array(event), event, (events, next) => {
        expect(commandStep(standingAfter([...events, next]), next)).toBeNull();
      }),
    );
  });

  it("that expired keeps a late answer beside it and stays expired", () => {
    const answer = { state: "done", reason: null, detail: null } as const;
    const late = standingAfter([
      { kind: "time-passed", at: expiresAt },
      { kind: "answered", at: instant(1_500), answer },
    ]);
    expect(late).toMatchObject({ state: "expired", answer, answeredAt: 1_500 });
  });
});
