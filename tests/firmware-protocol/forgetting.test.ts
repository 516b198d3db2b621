import { describe, expect, it } from "vitest";
import { decodeDownlink } from "../../firmware-protocol/src/decode.ts";
import type { UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import { MessageStore } from "../../scripts/simulated-cushions/store.ts";
import { bytesOf, forgetting } from "./vectors.ts";

const messageNamed = ([boot, sequence]: readonly [number, number]): UplinkMessage => ({
  kind: "notice",
  unit: "CU-4K7M2",
  boot,
  sequence,
  uptimeSeconds: 0,
  wallSeconds: null,
  notice: "certificate-expires",
  dueUnixSeconds: 0,
});

describe("a simulated cushion's store, given the vectors of forgetting", () => {
  it.each(forgetting)("forgets exactly what it may: $name", ({ receipt, held, forgets }) => {
    const store = new MessageStore(100);
    for (const name of held) store.keep(messageNamed(name));
    const read = decodeDownlink(bytesOf(receipt));
    if (read.kind !== "receipt") throw new Error(read.kind);
    store.forget(read);
    const gone = forgets.map((name) => name.join(":"));
    expect(store.messages.map(({ boot, sequence }) => `${boot}:${sequence}`)).toEqual(
      held.map((name) => name.join(":")).filter((name) => !gone.includes(name)),
    );
  });
});
