import { instant } from "../domain/units.ts";
import { type ClockStep, noteClockStep } from "../programme/note-clock-step.ts";
import type { Services } from "../services.ts";
import { lastAuditAt } from "../store/audit.ts";

export interface ClockWatch {
  /** Compares now, and tells of a step since it last did. */
  look(): void;
  stop(): void;
}

const lookEvery = 10_000;
/** Less than this moves nothing in the record: a unit's claim may be as far from our clock (`boot-anchor.ts`). */
const smallest = 120_000;

/** Tells when the server's own clock is set, forward or back, while it runs (against a clock that only counts) or before
 *  it started (against the last entry of the audit): every time in the record hangs on it.
 *  @param counted milliseconds, from a clock that nobody can set */
export function startClockWatch(services: Services, counted = () => performance.now()): ClockWatch {
  const { db, clock } = services;
  let offset = clock.now() - counted();
  const tell = (step: ClockStep): void => {
    try {
      noteClockStep(services, step);
    } catch (error) {
      services.log.error({ err: error }, "a step of the server's clock could not be put down");
    }
  };
  const before = lastAuditAt(db);
  if (before !== null && clock.now() < before - smallest)
    tell({ from: before, to: clock.now(), noticed: "at-start" });
  const look = (): void => {
    const now = clock.now();
    const expected = instant(Math.round(offset + counted()));
    if (Math.abs(now - expected) >= smallest) tell({ from: expected, to: now, noticed: "while-running" });
    // Slow corrections add up to no step.
    offset = now - counted();
  };
  const timer = setInterval(look, lookEvery).unref();
  return { look, stop: () => clearInterval(timer) };
}
