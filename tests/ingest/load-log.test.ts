import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { writeLogFile } from "../../firmware-protocol/src/log-file.ts";
import { instant } from "../../server/domain/units.ts";
import { loadLog } from "../../server/ingest/load-log.ts";
import { cast, type TestServices, testServices, things } from "../support/cast.ts";
import { cushion, hello, incoming, minutesUpTo } from "./cushion-messages.ts";

let services: TestServices;
beforeEach(() => {
  services = testServices();
});
afterEach(() => services.close());

const actor = { kind: "staff", id: cast.technician.id } as const;
const messages = [
  hello({ uptime: 1 }),
  ...[1, 2, 3].map((sequence) => minutesUpTo({ sequence, uptime: sequence * 900 }, 15)),
].map((message) => ({ ...message, unit: things.lentUnit }));
const file = writeLogFile(things.lentUnit, messages.map(encodeUplink));
const load = (bytes: Uint8Array) => loadLog(services, bytes, { actor, unit: things.lentUnit });

describe("a log read off a unit over a cable", () => {
  it("is stored once, however often it is loaded and whatever came over the air before", async () => {
    const [first] = messages;
    if (first === undefined) throw new Error("no message");
    await services.telemetry.append([
      { ...incoming(first), unit: things.lentUnit, topic: `cushion/1/${things.lentUnit}/up/hello` },
    ]);
    expect(await load(file)).toMatchObject({
      kind: "loaded",
      stored: 3,
      alreadyHad: 1,
      keptAside: 0,
      faults: [],
    });
    expect(await load(file)).toMatchObject({ kind: "loaded", stored: 0, alreadyHad: 4, keptAside: 0 });
    const everything = { start: instant(0), end: instant(4_102_444_800_000) };
    expect((await services.telemetry.read(things.lentUnit, everything)).minutes).toHaveLength(45);
  });

  it("of another unit is refused whole, and so is what is no log", async () => {
    const other = writeLogFile(things.stockUnit, messages.map(encodeUplink));
    expect(await load(other)).toMatchObject({ kind: "refused", rule: "another-unit" });
    expect(await load(new TextEncoder().encode("not a log"))).toMatchObject({ rule: "not-a-log" });
    expect(await services.telemetry.unreviewed()).toEqual([]);
  });

  it("cut off loads what is whole, and says which record was cut and where it begins", async () => {
    expect(await load(file.subarray(0, file.length - 3))).toMatchObject({
      stored: 3,
      faults: [{ number: 4, what: "cut-off", byte: expect.any(Number) }],
    });
  });

  it("with a message of another unit in it keeps that aside, as a connection would", async () => {
    const stranger = { ...hello({ uptime: 1, sequence: 9 }), unit: cushion };
    const mixed = writeLogFile(things.lentUnit, [...messages, stranger].map(encodeUplink));
    expect(await load(mixed)).toMatchObject({ stored: 4, keptAside: 1 });
  });
});
