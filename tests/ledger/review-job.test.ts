import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { type UnitSerial, unitSerial } from "../../server/domain/ids.ts";
import { type ReviewJob, startReviewJob } from "../../server/jobs/review-job.ts";
import { type TestServices, testServices, things } from "../support/cast.ts";

const stranger = unitSerial("CU-000999");
const minute = 60_000;

describe("the review job", () => {
  let services: TestServices;
  let job: ReviewJob;
  let log: string[];
  let failing: UnitSerial | null;

  beforeEach(() => {
    vi.useFakeTimers({ toFake: ["setTimeout", "clearTimeout", "setInterval", "clearInterval"] });
    services = testServices();
    log = [];
    failing = null;
    job = startReviewJob(services, {
      reviewUnit: async (_services, unit, { afresh }) => {
        log.push(`${afresh ? "afresh" : "review"} ${unit}`);
        if (unit === failing) throw new Error("no");
        return true;
      },
      assessUnits: async (_services, units, { goOn }) => {
        for (const unit of units) if (await goOn()) log.push(`assess ${unit}`);
      },
    });
  });
  afterEach(async () => {
    await job.stop();
    vi.useRealTimers();
    services.close();
  });

  it("reviews every unit on loan each minute, news or not, and assesses it every few minutes", async () => {
    await job.runNow();
    expect(log.splice(0)).toEqual([`assess ${things.lentUnit}`, `review ${things.lentUnit}`]);
    services.clock.move(minute);
    vi.advanceTimersByTime(minute);
    await vi.waitFor(() => expect(log.splice(0)).toEqual([`review ${things.lentUnit}`]));
    services.clock.move(4 * minute);
    await job.runNow();
    expect(log.splice(0)).toEqual([`assess ${things.lentUnit}`, `review ${things.lentUnit}`]);
  });

  it("makes one round of many calls, for the units that woke it", async () => {
    job.wake([stranger]);
    job.wake([stranger]);
    job.wake();
    expect(log).toEqual([]);
    vi.advanceTimersByTime(1_000);
    await vi.waitFor(() => expect(log).toEqual([`assess ${stranger}`, `review ${stranger}`]));
  });

  it("assesses a unit that told of a hazard at once, however lately that was done, and before those that wait", async () => {
    await job.runNow();
    log.splice(0);
    services.clock.move(1_000);
    job.wake([things.lentUnit], [things.lentUnit]);
    await vi.waitFor(() => expect(log).toEqual([`assess ${things.lentUnit}`]));
    // In the middle of a round: between two units, not after the last.
    log.splice(0);
    const round = job.runNow({ assess: true });
    job.wake([], [stranger]);
    await round;
    expect(log[0]).toBe(`assess ${stranger}`);
  });

  it("goes on with the next unit when one fails", async () => {
    failing = stranger;
    job.wake([stranger]);
    await job.runNow({ assess: true, afresh: true });
    expect(log).toEqual([
      `assess ${stranger}`,
      `assess ${things.lentUnit}`,
      `afresh ${stranger}`,
      `afresh ${things.lentUnit}`,
    ]);
  });

  it("starts nothing more once stopped", async () => {
    const running = job.runNow();
    await job.stop();
    await running;
    log.length = 0;
    job.wake([stranger]);
    await job.runNow();
    vi.advanceTimersByTime(10 * minute);
    await Promise.resolve();
    expect(log).toEqual([]);
  });
});
