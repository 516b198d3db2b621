import { describe, expect, it } from "vitest";
import { type CommitResult, GroupCommit } from "../../server/ingest/group-commit.ts";
import type { AppendOutcome, IncomingMessage } from "../../server/store/telemetry-port.ts";
import { hello, incoming } from "./cushion-messages.ts";

const nothing: AppendOutcome = { stored: 0, duplicates: 0, keptAside: 0, receipts: new Map() };
const message = (sequence: number): IncomingMessage => incoming(hello({ sequence, uptime: sequence }));

/** A store whose commits end when the test says so. */
function heldStore() {
  const batches: { size: number; commit: () => void; fail: () => void }[] = [];
  const append = (batch: readonly IncomingMessage[]) =>
    new Promise<AppendOutcome>((resolve, reject) => {
      batches.push({
        size: batch.length,
        commit: () => resolve(nothing),
        fail: () => reject(new Error("planted")),
      });
    });
  return { batches, append };
}

const turns = async (count = 6): Promise<void> => {
  for (let turn = 0; turn < count; turn++) await new Promise((next) => setImmediate(next));
};

describe("a group commit", () => {
  it("tells nobody before the commit that holds their message has ended, and everybody after", async () => {
    const store = heldStore();
    const results: CommitResult[] = [];
    const group = new GroupCommit({ append: store.append, committed: () => {}, failed: () => {} });
    for (const sequence of [0, 1, 2]) group.add(message(sequence), (result) => results.push(result));
    await turns();
    group.add(message(3), (result) => results.push(result));
    await turns();
    expect({ results, groups: store.batches.map(({ size }) => size) }).toEqual({ results: [], groups: [3] });
    store.batches[0]?.commit();
    await turns();
    expect({ results: results.length, groups: store.batches.map(({ size }) => size) }).toEqual({
      results: 3,
      groups: [3, 1],
    });
    store.batches[1]?.commit();
    await group.stop();
    expect(results).toEqual(["stored", "stored", "stored", "stored"]);
  });

  it("says failed to all of a group that failed, and goes on with the next", async () => {
    const store = heldStore();
    const results: CommitResult[] = [];
    const failures: number[] = [];
    const group = new GroupCommit({
      append: store.append,
      committed: () => {},
      failed: (_error, messages) => failures.push(messages),
    });
    for (const sequence of [0, 1]) group.add(message(sequence), (result) => results.push(result));
    await turns();
    store.batches[0]?.fail();
    await turns();
    group.add(message(2), (result) => results.push(result));
    await turns();
    store.batches[1]?.commit();
    await group.stop();
    expect({ results, failures }).toEqual({ results: ["failed", "failed", "stored"], failures: [2] });
  });

  it("hands a second group over while the first is being written, where the store writes beside it", async () => {
    const store = heldStore();
    const results: CommitResult[] = [];
    const group = new GroupCommit({
      append: store.append,
      committed: () => {},
      failed: () => {},
      largestBatch: 300,
      writesBeside: true,
    });
    for (let sequence = 0; sequence < 700; sequence++) {
      group.add(message(sequence), (result) => results.push(result));
    }
    await turns();
    expect(store.batches.map(({ size }) => size)).toEqual([300, 300]);
    store.batches[0]?.fail();
    store.batches[1]?.commit();
    await turns();
    store.batches[2]?.commit();
    await group.stop();
    expect(results.filter((result) => result === "stored")).toHaveLength(400);
    expect(results.filter((result) => result === "failed")).toHaveLength(300);
  });

  it("holds no more than its memory allows: what doesn't fit is refused at once", async () => {
    const store = heldStore();
    const results: CommitResult[] = [];
    const group = new GroupCommit({
      append: store.append,
      committed: () => {},
      failed: () => {},
      mostWaitingBytes: 3_000,
    });
    for (let sequence = 0; sequence < 100; sequence++) {
      group.add(message(sequence), (result) => results.push(result));
    }
    expect(new Set(results)).toEqual(new Set(["refused"]));
    expect(group.waiting).toBeLessThan(10);
    await turns();
    store.batches[0]?.commit();
    await group.stop();
    expect(results).toHaveLength(100);
  });
});
