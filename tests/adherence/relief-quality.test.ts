import { expect, test } from "vitest";
import { reliefQuality } from "../../server/domain/adherence/relief-quality.ts";
import type { RecordedRelief } from "../../server/domain/record/unit-record.ts";
import { instant, probability, seconds } from "../../server/domain/units.ts";

const minute = 60_000;
const relief = (at: number, over: Partial<RecordedRelief> = {}): RecordedRelief => ({
  at: instant(at * minute),
  receivedAt: instant(at * minute),
  kind: "lean-left",
  hold: seconds(at),
  depth: probability(0.5),
  outcome: "complete",
  prompted: false,
  ...over,
});
const span = (from: number, to: number) => ({ start: instant(from * minute), end: instant(to * minute) });

test("the longest sit without a relief runs over midnight, is broken by a gap, and a relief broken off ends nothing", () => {
  const sits = [span(0, 60), span(60, 100), span(130, 180)];
  const { longestWithout } = reliefQuality([relief(20), relief(70, { outcome: "broken-off" })], sits);
  expect(longestWithout).toEqual(span(20, 100));
});

test("too few reliefs give counts and no middle", () => {
  const few = reliefQuality([relief(10), relief(20, { kind: "lean-right" })], []);
  expect(few).toMatchObject({
    complete: 2,
    hold: null,
    depth: null,
    left: 1,
    right: 1,
    longestWithout: null,
  });
  const enough = [10, 20, 30, 40, 90].map((at) => relief(at));
  expect(reliefQuality(enough, [])).toMatchObject({ hold: 30, depth: 0.5, left: 5, right: 0 });
});
