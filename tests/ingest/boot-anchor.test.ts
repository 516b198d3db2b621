import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { type Heard, placeHeard } from "../../server/domain/time/boot-anchor.ts";
import { type Instant, instant, seconds } from "../../server/domain/units.ts";

const trueBoot = Date.UTC(2026, 4, 4, 8);

/** A message of a boot that began at `trueBoot`, as a unit with whole-second clocks writes it. */
const written = (uptime: number, wallError: number | null, delay: number): Heard => ({
  uptime: seconds(uptime),
  wall: wallError === null ? null : seconds(Math.floor(trueBoot / 1_000) + uptime + wallError),
  receivedAt: instant(trueBoot + (uptime + delay) * 1_000),
});

const byUptime = (a: Heard, b: Heard): number => a.uptime - b.uptime;
const uptimes = fc.nat(28 * 86_400);
const delays = fc.nat(20 * 86_400);
const someHeard = (wallErrors: fc.Arbitrary<number | null>) =>
  fc
    .array(fc.tuple(uptimes, wallErrors, delays), { minLength: 1, maxLength: 20 })
    .map((all) => all.map(([uptime, error, delay]) => written(uptime, error, delay)).sort(byUptime));

const at = (value: Instant | undefined): number => value ?? Number.NaN;

describe("a boot's place in time", () => {
  it("is within 3 s of the truth with a clock that is right to the second, however late messages come", () => {
    const roughlyRight = fc.oneof(fc.constant(null), fc.integer({ min: -1, max: 1 }));
    fc.assert(
      fc.property(someHeard(roughlyRight), (heard) => {
        const { anchor, bootedAt } = placeHeard(null, heard, null);
        if (heard.every(({ wall }) => wall === null)) return;
        expect(anchor.basis).toBe("clock");
        for (const placed of bootedAt)
          expect(Math.abs(placed - trueBoot)).toBeLessThanOrEqual(anchor.error * 1_000);
      }),
    );
  });

  it("is never earlier than the truth without a clock, and never after the first message came", () => {
    fc.assert(
      fc.property(someHeard(fc.constant(null)), (heard) => {
        const { anchor } = placeHeard(null, heard, null);
        expect(anchor.basis).toBe("arrival");
        expect(anchor.bootedAt).toBeGreaterThanOrEqual(trueBoot);
        for (const { receivedAt, uptime } of heard) {
          expect(anchor.bootedAt + uptime * 1_000).toBeLessThanOrEqual(receivedAt);
        }
      }),
    );
  });

  it("has an error bound that holds the truth where the record of the boot before ended", () => {
    fc.assert(
      fc.property(someHeard(fc.constant(null)), fc.nat(86_400), (heard, pause) => {
        const endBefore = instant(trueBoot - pause * 1_000);
        const { anchor } = placeHeard(null, heard, endBefore);
        expect(anchor.bootedAt - trueBoot).toBeLessThanOrEqual(anchor.error * 1_000);
      }),
    );
  });

  it("is never more than 2 s from what a message's own drifting clock says, in whatever order messages come", () => {
    const drifting = fc
      .array(fc.tuple(uptimes, fc.integer({ min: -50, max: 50 })), { minLength: 2, maxLength: 20 })
      .map((all) => all.map(([uptime, ppm]) => written(uptime, Math.round((uptime * ppm) / 1e6), 86_400)));
    fc.assert(
      fc.property(drifting, (heard) => {
        let anchor: Parameters<typeof placeHeard>[0] = null;
        for (const message of heard) {
          const placing = placeHeard(anchor, [message], null);
          if (placing.contradicted) return;
          anchor = placing.anchor;
          const own = (message.wall ?? 0) * 1_000 - message.uptime * 1_000;
          expect(Math.abs(at(placing.bootedAt[0]) - own)).toBeLessThanOrEqual(2_000);
        }
      }),
    );
  });

  it("rests on no clock that starts in 1970, or that is ahead of the message's arrival", () => {
    for (const wallError of [-trueBoot / 1_000, 200, 86_400 * 365]) {
      expect(placeHeard(null, [written(600, wallError, 30)], null).anchor.basis).toBe("arrival");
    }
  });

  it("moves what hung on arrival by exactly as much as the clock corrects it", () => {
    fc.assert(
      fc.property(uptimes, delays, uptimes, (first, delay, later) => {
        const before = placeHeard(null, [written(first, null, delay)], null).anchor;
        const placing = placeHeard(before, [written(first + later, 0, delay)], null);
        expect(before.bootedAt + placing.moveEarlier).toBe(trueBoot);
        expect(placing.anchor).toMatchObject({ basis: "clock", bootedAt: trueBoot });
      }),
    );
  });

  it("believes the clock that was set last, and says that the earlier one contradicted it", () => {
    const wrong = written(600, -300 * 86_400, 0);
    const set = written(700, 0, 0);
    const before = placeHeard(null, [wrong], null).anchor;
    expect(placeHeard(before, [set], null).contradicted).toBe(true);
    expect(placeHeard(null, [wrong, set], null).bootedAt).toEqual([trueBoot, trueBoot]);
  });
});
