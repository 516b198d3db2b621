import { expect, it } from "vitest";
import { decodeDownlink, decodeUplink } from "../../firmware-protocol/src/decode.ts";
import type { Command, CommandAction } from "../../firmware-protocol/src/downlink.ts";
import { encodeDownlink, encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { readUnreadableCommand } from "../../firmware-protocol/src/unreadable-command.ts";
import { day } from "../../scripts/simulated-cushions/wall-clock.ts";
import { live, start } from "./cast.ts";

const now = start + day;
const command = (action: CommandAction, hours = 1): Command => ({
  kind: "command",
  id: `c-${action}`,
  expiresUnixSeconds: now / 1_000 + hours * 3_600,
  action,
});

it("a cushion carries a command out once, and gives the same answer when it comes again", () => {
  const { cushion } = live({ days: 1 });
  const before = cushion.store.messages.length;
  cushion.receive(command("frame"), now);
  cushion.receive(command("frame"), now);
  const said = cushion.store.messages.slice(before);
  expect(said.map(({ kind }) => kind)).toEqual(["frame", "result"]);
  for (const message of said) expect(decodeUplink(encodeUplink(message))).toEqual(message);
  const through = said[1]?.sequence ?? 0;
  cushion.receive(
    { kind: "receipt", stored: [{ boot: 1, through, holes: [] }], serverUnixSeconds: now / 1_000 },
    now,
  );
  cushion.receive(command("frame"), now);
  expect(cushion.store.messages).toMatchObject([
    { kind: "result", command: "c-frame", state: "done", reason: null, sequence: through + 1 },
  ]);
});

it("a cushion's self-test finds its dead column, and one that comes too late is not begun", () => {
  const { cushion } = live({ days: 1, spec: { faults: [{ kind: "column-open", from: start, column: 4 }] } });
  const before = cushion.store.messages.length;
  cushion.receive(command("self-test"), now);
  cushion.receive(command("report", -1), now);
  expect(cushion.store.messages.slice(before)).toMatchObject([
    { kind: "self-test", passed: false, failedColumns: [4], failedRows: [], command: "c-self-test" },
    { kind: "result", state: "done" },
    { kind: "result", command: "c-report", state: "expired" },
  ]);
});

it("a cushion forgets only once everything it keeps has arrived", () => {
  const { cushion } = live({ days: 1 });
  cushion.receive(command("forget"), now);
  const accepted = cushion.store.messages.at(-1);
  expect(accepted).toMatchObject({ kind: "result", state: "accepted" });
  const through = accepted?.sequence ?? 0;
  const receipt = (upTo: number) =>
    cushion.receive(
      { kind: "receipt", stored: [{ boot: 1, through: upTo, holes: [] }], serverUnixSeconds: now / 1_000 },
      now,
    );
  receipt(through - 1);
  expect(cushion.store.messages).toEqual([accepted]);
  receipt(through);
  expect(cushion.store.messages).toMatchObject([{ kind: "result", command: "c-forget", state: "done" }]);
});

it("a reset between doesn't end a command: a later boot ends it, or says that its time is over [FP-11.6]", () => {
  const faults = [{ kind: "reset-loop", from: now, meanHoursBetween: 1 }] as const;
  for (const [hours, state] of [
    [72, "done"],
    [6, "expired"],
  ] as const) {
    const { cushion } = live({ days: 1, spec: { faults } });
    cushion.receive(command("forget", hours), now);
    cushion.advance(now + day / 2);
    const boots = Math.max(...cushion.store.messages.map(({ boot }) => boot));
    expect(boots).toBeGreaterThan(1);
    const stored = Array.from({ length: boots }, (_, at) => ({
      boot: at + 1,
      through: 0xffff_ffff,
      holes: [],
    }));
    const serverUnixSeconds = (now + day / 2) / 1_000;
    const said = cushion.store.messages.filter((message) => message.kind === "result");
    cushion.receive({ kind: "receipt", stored, serverUnixSeconds }, now + day / 2);
    const answers = [...said, ...cushion.store.messages].map(
      (message) => "state" in message && message.state,
    );
    expect(answers).toEqual(["accepted", state]);
  }
});

it("a command it can't carry out is refused where its id can be read [FP-11.5]", () => {
  const { cushion } = live({ days: 1 });
  const readable = Buffer.from(encodeDownlink(command("frame")));
  // The last byte is the action, of which there are seven.
  const unknown = Buffer.concat([readable.subarray(0, -1), Buffer.of(0x17)]);
  const broken = Buffer.concat([readable.subarray(0, -1), Buffer.of(0xf5)]);
  expect(decodeDownlink(unknown).kind).toBe("unreadable");
  const said = readUnreadableCommand(unknown);
  expect(said).toEqual({ id: "c-frame", reason: "unsupported" });
  expect(readUnreadableCommand(broken)).toEqual({ id: "c-frame", reason: "unreadable" });
  expect(readUnreadableCommand(readable.subarray(0, 8))).toBeNull();
  if (said !== null) cushion.receiveUnreadable(said, now);
  expect(cushion.store.messages.at(-1)).toMatchObject({ command: "c-frame", reason: "unsupported" });
});
