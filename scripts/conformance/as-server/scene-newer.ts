import { writeCbor } from "../../../firmware-protocol/src/cbor/write.ts";
import { encodeDownlink } from "../../../firmware-protocol/src/encode.ts";
import type { Stage } from "./stage.ts";
import type { Visit } from "./visit.ts";

/** What a newer server may send, and what nobody can read (FP-13.5, FP-7.9): the unit goes on as if nothing were. */
export async function sceneOfNewer(stage: Stage, visit: Visit): Promise<void> {
  const { findings, options } = stage;
  const plan = encodeDownlink({
    kind: "plan",
    version: 1,
    intervalMinutes: 30,
    holdSeconds: 60,
    kinds: ["lift"],
  });
  const withEntry64 = Buffer.concat([
    Buffer.of((plan[0] ?? 0) + 1),
    plan.subarray(1),
    Buffer.of(0x18, 0x40, 0x01),
  ]);
  visit.sayBytes("seat-song", plan);
  visit.sayBytes(
    "plan",
    writeCbor(
      new Map([
        [0, 1],
        [1, 99],
        [16, 5],
      ]),
    ),
  );
  visit.sayBytes("plan", withEntry64);
  visit.sayBytes("certificate", Buffer.from("no CBOR at all"));
  visit.sayBytes("command", new Uint8Array());
  visit.sayBytes("receipt", new Uint8Array());
  const goes =
    (await visit.next(options.patience, (message): message is typeof message => message.kind !== "hello")) !==
    null;
  const told = visit.isOpen ? "it sent nothing more in time" : "it closed the connection";
  findings.check(
    "FP-13.5",
    goes,
    "a topic, a number and an entry it can't know did not disturb it",
    `after a topic, a number and an entry it can't know ${told}`,
  );
  findings.advised(
    "FP-7.9",
    visit.isOpen,
    "and messages that can't be read did not end the connection",
    "it closed the connection for a message it can't read",
  );
}
