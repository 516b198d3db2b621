import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { loanId, stretchId } from "../../server/domain/ids.ts";
import type { FoundStretch } from "../../server/domain/ledger/find-gaps.ts";
import { matchStretches } from "../../server/domain/ledger/match-stretches.ts";
import { type Instant, instant, milliseconds } from "../../server/domain/units.ts";
import type { Stretch } from "../../server/domain/verdicts/verdict.ts";

const minute = 60_000;
const at = (minutes: number): Instant => instant(minutes * minute);
const gap = (start: number, end: number | null): FoundStretch => ({
  kind: "gap",
  start: at(start),
  end: end === null ? null : at(end),
});
const listed = (id: string, start: number, end: number | null): Stretch => ({
  ...gap(start, end),
  id: stretchId(id),
  loan: loanId("loan-1"),
  firstSeenAt: at(start),
  filledAt: null,
});
const match = (before: readonly Stretch[], found: readonly FoundStretch[]) => {
  const said = matchStretches(before, found, { now: at(2000), shortestGap: milliseconds(20 * minute) }, () =>
    at(2000),
  );
  const bounds = ({ start, end }: FoundStretch) => [start / minute, end === null ? null : end / minute];
  return {
    kept: Object.fromEntries(said.kept.map((one) => [one.id, bounds(one)])),
    filled: said.filled.map(({ id }) => id),
    fresh: said.fresh.map(bounds),
  };
};

describe("a gap that was cut", () => {
  const parts = [listed("first", 0, 300), listed("second", 300, 600)];

  it("keeps its parts where the cut vanished and nothing came: neither is called filled", () => {
    expect(match(parts, [gap(0, 600)])).toEqual({
      kept: { first: [0, 300], second: [300, 600] },
      filled: [],
      fresh: [],
    });
    expect(match([listed("first", 0, 300), listed("second", 300, null)], [gap(0, null)])).toEqual({
      kept: { first: [0, 300], second: [300, null] },
      filled: [],
      fresh: [],
    });
  });

  it("keeps the part of which only some has come", () => {
    expect(match(parts, [gap(0, 340)]).kept).toEqual({ first: [0, 300], second: [300, 340] });
  });

  it("has a part filled once less of it is missing than makes a gap", () => {
    expect(match(parts, [gap(0, 310)])).toEqual({ kept: { first: [0, 310] }, filled: ["second"], fresh: [] });
  });

  it("moves its cut where the numbering says another place, and isn't cut twice", () => {
    expect(match(parts, [gap(0, 200), gap(200, 600)])).toEqual({
      kept: { first: [0, 200], second: [200, 600] },
      filled: [],
      fresh: [],
    });
  });

  it("loses and doubles no missing minute, wherever its cuts were and whatever has come", () => {
    const edges = fc.uniqueArray(fc.integer({ min: 0, max: 40 }), { minLength: 2, maxLength: 6 });
    fc.assert(
      fc.property(edges, edges, (cuts, now) => {
        const tiled = (places: readonly number[]) =>
          places
            .map((place) => place * 20)
            .sort((a, b) => a - b)
            .flatMap((place, index, all) =>
              all[index + 1] === undefined ? [] : [[place, all[index + 1] ?? 0]],
            );
        const before = tiled(cuts).map(([a, b], index) => listed(`${index}`, a ?? 0, b ?? 0));
        const found = tiled(now).map(([a, b]) => gap(a ?? 0, b ?? 0));
        const { kept, filled, fresh } = match(before, found);
        const length = ([a, b]: (number | null)[]) => (b ?? 0) - (a ?? 0);
        const missing = found.reduce((sum, one) => sum + ((one.end ?? 0) - one.start) / minute, 0);
        expect([...Object.values(kept), ...fresh].reduce((sum, one) => sum + length(one), 0)).toBe(missing);
        expect(Object.keys(kept).length + filled.length).toBe(before.length);
      }),
    );
  });
});
