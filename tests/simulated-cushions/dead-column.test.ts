import { describe, expect, it } from "vitest";
import type { ReliefKind } from "../../firmware-protocol/src/messages.ts";
import type { Fault } from "../../scripts/simulated-cushions/faults.ts";
import { live, start } from "./cast.ts";

/** Columns under the sit bones of a 10-column, 42 mm grid: 63 mm left and right of the middle. */
const underLeftBone = 3;
const underRightBone = 6;

/** Of the full reliefs really done, the share that the unit told of, by kind. */
function seenShare(faults: readonly Fault[]): Record<string, number> {
  const { truth } = live({ days: 12, spec: { faults } });
  const counts = new Map<string, { done: number; seen: number }>();
  for (const event of truth.events) {
    if (event.what !== "relief") continue;
    const count = counts.get(event.kind) ?? { done: 0, seen: 0 };
    count.done += 1;
    if (event.seen) count.seen += 1;
    counts.set(event.kind, count);
  }
  return Object.fromEntries([...counts].map(([kind, { done, seen }]) => [kind, seen / done]));
}

const share = (shares: Record<string, number>, kind: ReliefKind): number => shares[kind] ?? Number.NaN;

describe("a dead sensor column, judged only by what the firmware still detects", () => {
  it("hides no direction while every column lives", () => {
    const sound = seenShare([]);
    expect(share(sound, "lean-left")).toBeGreaterThan(0.95);
    expect(share(sound, "lean-right")).toBeGreaterThan(0.95);
  });

  // Leaning left takes the load off the right side. With the column under the right sit bone dead, the unit can't see
  // what leaves it. Right leans show as before: their load leaves the left side, which the unit sees whole.
  it("under the right sit bone hides left leans and nothing else", () => {
    const faulty = seenShare([{ kind: "column-open", from: start, column: underRightBone }]);
    expect(share(faulty, "lean-left")).toBeLessThan(0.1);
    expect(share(faulty, "lean-right")).toBeGreaterThan(0.95);
    expect(share(faulty, "lift")).toBeGreaterThan(0.95);
    expect(share(faulty, "lean-forward")).toBeGreaterThan(0.9);
  });

  it("under the left sit bone hides right leans and nothing else", () => {
    const faulty = seenShare([{ kind: "column-open", from: start, column: underLeftBone }]);
    expect(share(faulty, "lean-right")).toBeLessThan(0.1);
    expect(share(faulty, "lean-left")).toBeGreaterThan(0.95);
  });

  // f/(2-f): losing a share f of the right side's load moves the resting index (L-R)/(L+R) by that much; 20 % gives
  // +0.11, 40 % gives +0.25. The arithmetic stands on its own; here the grid must obey it.
  it("moves the resting balance to the left by f/(2-f)", () => {
    const frames = (faults: readonly Fault[]) =>
      live({ days: 2, spec: { faults } }).cushion.store.messages.flatMap((message) =>
        message.kind === "frame" && message.loaded ? [message] : [],
      );
    const sound = frames([]);
    const dead = frames([{ kind: "column-open", from: start, column: underRightBone }]);
    const sums = (frame: (typeof sound)[number]) => {
      const side = { left: 0, right: 0, column: 0 };
      frame.cells.forEach((count, cell) => {
        const column = cell % frame.columns;
        const net = count - 8;
        if (column < frame.columns / 2) side.left += net;
        else side.right += net;
        if (column === underRightBone) side.column += net;
      });
      return side;
    };
    const mean = (values: number[]) => values.reduce((a, b) => a + b, 0) / values.length;
    const index = (list: typeof sound) =>
      mean(
        list.map((frame) => (sums(frame).left - sums(frame).right) / (sums(frame).left + sums(frame).right)),
      );
    const lost = mean(sound.map((frame) => sums(frame).column / sums(frame).right));
    expect(lost).toBeGreaterThan(0.3);
    expect(index(dead) - index(sound)).toBeCloseTo(lost / (2 - lost), 1);
  });
});
