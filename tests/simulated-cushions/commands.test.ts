import { expect, it } from "vitest";
import { decodeUplink } from "../../firmware-protocol/src/decode.ts";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import type { Command, CommandAction } from "../../firmware-protocol/src/messages.ts";
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
  expect(said.map(({ kind }) => kind)).toEqual(["frame", "result", "result"]);
  expect(said[2]).toMatchObject({ command: "c-frame", state: "done", reason: null });
  for (const message of said) expect(decodeUplink(encodeUplink(message))).toEqual(message);
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
