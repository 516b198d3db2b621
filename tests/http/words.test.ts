import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { instantAt, type LocalDay, localDay, zoneName } from "../../server/domain/time/local-day.ts";
import { instant, millisecondsIn, probability } from "../../server/domain/units.ts";
import {
  agoWords,
  certaintyWords,
  dateTimeWords,
  dayWords,
  durationWords,
} from "../../views/layout/words.ts";
import { testZone } from "../support/cast.ts";

const day = (text: string): LocalDay => localDay(text) ?? expect.fail("not a day");

describe("words", () => {
  it("say a day so that no country reads another", () => {
    expect(dayWords(day("2026-05-03"))).toBe("3 May 2026");
    expect(dayWords(day("2026-12-31"))).toBe("31 December 2026");
  });

  it("say a time as the programme's wall clock shows it", () => {
    const at = instantAt(day("2026-05-03"), 14, 10, testZone);
    expect(dateTimeWords(at, testZone)).toBe("3 May 2026, 14:10");
    const utc = zoneName("UTC") ?? expect.fail("no UTC");
    expect(dateTimeWords(at, utc)).toBe("3 May 2026, 13:10");
  });

  it.each([
    [0, "less than a minute"],
    [59_999, "less than a minute"],
    [45 * millisecondsIn.minute, "45 min"],
    [150 * millisecondsIn.minute, "2 h 30 min"],
    [3 * millisecondsIn.hour, "3 h"],
    [25 * millisecondsIn.hour, "25 h"],
    [48 * millisecondsIn.hour, "2 days"],
    [76.5 * millisecondsIn.hour, "3 days 4 h"],
  ])("say %d ms as %s", (lasted, words) => {
    expect(durationWords(lasted)).toBe(words);
  });

  it("say how long ago, or how soon", () => {
    const now = instant(1_000_000_000_000);
    expect(agoWords(instant(now - 12 * millisecondsIn.minute), now)).toBe("12 min ago");
    expect(agoWords(instant(now + 3 * millisecondsIn.hour), now)).toBe("in 3 h");
    expect(agoWords(now, now)).toBe("just now");
    expect(agoWords(instant(now - 50 * millisecondsIn.hour), now)).toBe("2 days ago");
  });

  it.each([
    [0.97, "almost certainly (97\u00a0%)"],
    [0.81, "probably (81\u00a0%)"],
    [0.46, "can't tell yet (best guess 46\u00a0%)"],
    [0.57, "can't tell yet (best guess 57\u00a0%)"],
    [0.7999, "can't tell yet (best guess 79\u00a0%)"],
    [0.949, "probably (94\u00a0%)"],
    [0.9999, "almost certainly (over 99\u00a0%)"],
    [1, "almost certainly (over 99\u00a0%)"],
  ])("say a probability of %d as %s", (p, words) => {
    expect(certaintyWords(probability(p))).toBe(words);
  });

  it("claim nothing that did not reach its own bar", () => {
    expect(certaintyWords(probability(0.86), false)).toBe("can't tell yet (best guess 86\u00a0%)");
    expect(certaintyWords(probability(0.86), true)).toBe("probably (86\u00a0%)");
  });

  it("never say more than the number holds", () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 1, noNaN: true }), (p) => {
        const words = certaintyWords(probability(p));
        const shown = Number(/(\d+)\s%/.exec(words)?.[1]);
        expect(shown / 100).toBeLessThanOrEqual(p + 1e-9);
        expect(words).not.toContain("100");
      }),
    );
  });
});
