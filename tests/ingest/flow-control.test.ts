import { PassThrough } from "node:stream";
import { describe, expect, it } from "vitest";
import { FlowControl } from "../../server/ingest/flow-control.ts";
import { ReadGate } from "../../server/ingest/read-gate.ts";

function flows() {
  let now = 0;
  let waiting = 0;
  const control = new FlowControl(
    () => waiting,
    () => now,
  );
  return {
    control,
    open: () => control.open(new ReadGate(new PassThrough())),
    passes: (milliseconds: number) => {
      now += milliseconds;
      control.release();
    },
    waits: (bytes: number) => {
      waiting = bytes;
    },
  };
}

describe("the flow of messages", () => {
  it("slows a unit that sends far too much, and no other", () => {
    const { control, open, passes } = flows();
    const flood = open();
    const honest = open();
    for (let sent = 0; sent < 5_000; sent++) {
      control.taken(flood, 60, false);
      control.settled(flood, 60);
    }
    control.taken(honest, 60, false);
    expect([flood.gate.isClosed, honest.gate.isClosed]).toEqual([true, false]);
    expect([control.isGreedy(flood), control.isGreedy(honest)]).toEqual([true, false]);
    expect(control.figures()).toEqual({ held: 1, slowed: 1, heldForRoom: 0 });
    passes(1_000);
    expect(flood.gate.isClosed).toBe(true);
    passes(4_000);
    expect(flood.gate.isClosed).toBe(false);
    control.stop();
  });

  it("reads from nobody who catches up while much waits, and from everybody again when it doesn't", () => {
    const { control, open, passes, waits } = flows();
    const catchingUp = open();
    const live = open();
    waits(30 * 1024 * 1024);
    control.taken(catchingUp, 60, true);
    control.taken(live, 60, false);
    expect([catchingUp.gate.isClosed, live.gate.isClosed]).toEqual([true, false]);
    waits(50 * 1024 * 1024);
    control.taken(live, 60, false);
    expect(live.gate.isClosed).toBe(true);
    waits(0);
    passes(25);
    expect(control.figures().held).toBe(0);
    control.stop();
  });
});

describe("a closed gate", () => {
  it("leaves the bytes in the socket, and says so when they may be read again", () => {
    const stream = new PassThrough();
    const gate = new ReadGate(stream);
    const heard: string[] = [];
    stream.on("readable", () => heard.push(String(stream.read())));
    gate.close();
    stream.write("what was sent meanwhile");
    expect(stream.read()).toBe(null);
    gate.open();
    expect(heard).toContain("what was sent meanwhile");
  });
});
