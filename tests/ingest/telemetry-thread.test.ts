import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { instant } from "../../server/domain/units.ts";
import { openTelemetryThread, type TelemetryThread } from "../../server/store/telemetry-thread.ts";
import { type TestServices, testServices } from "../support/cast.ts";
import { cushion, hello, incoming, minutesUpTo, switchedOn } from "./cushion-messages.ts";

const everything = { start: instant(0), end: instant(4_102_444_800_000) };
const messages = [
  hello({ uptime: 1 }),
  ...[1, 2, 4].map((sequence) => minutesUpTo({ sequence, uptime: sequence * 900 }, 15)),
].map((message) => incoming(message));

let services: TestServices;
let thread: TelemetryThread;

beforeEach(async () => {
  services = testServices({ empty: true });
  thread = await openTelemetryThread(services.database, services.dataFolder);
});
afterEach(() => services.close());

describe("telemetry written in a thread of its own", () => {
  it("is read as if it had been written in this one, receipts and news as well", async () => {
    const plain = testServices({ empty: true });
    const { telemetry } = thread;
    expect(await telemetry.append(messages)).toEqual(await plain.telemetry.append(messages));
    expect(await telemetry.append(messages)).toMatchObject({ stored: 0, duplicates: 4 });
    expect(await telemetry.read(cushion, everything)).toEqual(
      await plain.telemetry.read(cushion, everything),
    );
    expect(await telemetry.unreviewed()).toEqual(await plain.telemetry.unreviewed());
    expect(await telemetry.unreviewedOf(cushion)).toEqual(await plain.telemetry.unreviewedOf(cushion));
    expect(await telemetry.lastRecordedAt([cushion])).toEqual(
      await plain.telemetry.lastRecordedAt([cushion]),
    );
    plain.close();
    await thread.close();
  });

  it("reads on while the other thread packs what has been read before", async () => {
    const { telemetry } = thread;
    await telemetry.append(messages.slice(0, 3));
    const before = await telemetry.read(cushion, everything);
    while (await telemetry.tidy(instant(switchedOn + 30 * 86_400_000), 1_000));
    const blocks = services.database.driver.prepare("select count(*) from message_block").pluck();
    expect(blocks.get()).toBe(1);
    expect(await telemetry.read(cushion, everything)).toEqual(before);
    await telemetry.append(messages.slice(3));
    expect((await telemetry.read(cushion, everything)).minutes).toHaveLength(45);
    await thread.close();
  });

  it("takes several batches at once, and nothing more once it is closed", async () => {
    const { telemetry } = thread;
    const outcomes = await Promise.all(messages.map((message) => telemetry.append([message])));
    expect(outcomes.map(({ stored }) => stored)).toEqual([1, 1, 1, 1]);
    await thread.close();
    await expect(telemetry.append(messages)).rejects.toThrow(/ended/);
  });

  it("stores nothing of a batch that fails, and says so", async () => {
    services.database.driver.exec("begin immediate");
    const refused = thread.telemetry.append(messages);
    await expect(refused).rejects.toThrow(/locked/);
    services.database.driver.exec("rollback");
    expect(await thread.telemetry.append(messages)).toMatchObject({ stored: 4 });
    await thread.close();
  }, 20_000);
});
