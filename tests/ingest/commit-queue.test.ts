import { describe, expect, it } from "vitest";
import { unitSerial } from "../../server/domain/ids.ts";
import { CommitQueue, type Urgency } from "../../server/ingest/commit-queue.ts";

const item = (unit: string, number: number, urgency: Urgency) => ({
  unit: unitSerial(unit),
  urgency,
  number,
});
const names = (items: readonly { unit: string; number: number }[]) =>
  items.map(({ unit, number }) => `${unit} ${number}`);

describe("what waits for a commit", () => {
  it("goes live first, however long the backlog has been waiting", () => {
    const queue = new CommitQueue<ReturnType<typeof item>>();
    for (let number = 0; number < 50; number++) queue.add(item("CU-000001", number, "backlog"));
    queue.add(item("CU-000002", 0, "live"));
    expect(names(queue.take(3))[0]).toBe("CU-000002 0");
    expect([queue.live, queue.backlog]).toEqual([0, 48]);
  });

  it("lets a backlog move on under any load: a tenth of each group is its", () => {
    const queue = new CommitQueue<ReturnType<typeof item>>();
    for (let number = 0; number < 500; number++) queue.add(item("CU-000001", number, "live"));
    for (let number = 0; number < 500; number++) queue.add(item("CU-000002", number, "backlog"));
    const group = queue.take(100);
    expect(group.filter(({ urgency }) => urgency === "backlog")).toHaveLength(10);
    expect(group.slice(0, 90).every(({ urgency }) => urgency === "live")).toBe(true);
  });

  it("gives each unit with a backlog its turn, and keeps the order within a unit", () => {
    const queue = new CommitQueue<ReturnType<typeof item>>();
    for (let number = 0; number < 1_000; number++) queue.add(item("CU-000001", number, "backlog"));
    for (let number = 0; number < 4; number++) queue.add(item("CU-000002", number, "backlog"));
    const group = queue.take(24);
    expect(names(group.filter(({ unit }) => unit === "CU-000002"))).toEqual(
      [0, 1, 2, 3].map((number) => `CU-000002 ${number}`),
    );
    const rest = [...group, ...queue.take(2_000)].filter(({ unit }) => unit === "CU-000001");
    expect(rest.map(({ number }) => number)).toEqual(Array.from({ length: 1_000 }, (_, number) => number));
    expect(queue.length).toBe(0);
  });
});
