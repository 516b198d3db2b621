import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import type { Power } from "../../firmware-protocol/src/messages.ts";
import { uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import { instant } from "../../server/domain/units.ts";
import { readAsideAgain } from "../../server/programme/read-aside-again.ts";
import { audit } from "../../server/store/schema/audit.ts";
import { keptAside } from "../../server/store/schema/telemetry.ts";
import { digestOf } from "../../server/store/telemetry-triage.ts";
import { type TestServices, testServices, things } from "../support/cast.ts";
import { envelope, hello, incoming, switchedOn } from "./cushion-messages.ts";

const unit = things.lentUnit;
const span = { start: switchedOn, end: instant(switchedOn + 86_400_000) };
const arrived = instant(switchedOn + 700_000);

let services: TestServices;
beforeEach(() => {
  services = testServices();
});
afterEach(() => services.close());

const power: Power = {
  kind: "power",
  ...envelope({ unit, uptime: 600, sequence: 1 }),
  event: "charge-start",
  atUptimeSeconds: 590,
  cellMillivolts: 3_700,
  temperatureDecicelsius: 220,
};

/** As a version that did not know the kind left it: aside, its name settled. */
function keptAsideBefore(payload: Uint8Array, clause = "FP-4.2"): void {
  const row = { unitSerial: unit, topic: uplinkTopic(unit, "power"), receivedAt: arrived, clause };
  services.db
    .insert(keptAside)
    .values({ ...row, reason: "unknown", digest: digestOf(payload), times: 1, payload: Buffer.from(payload) })
    .run();
}
const asideRows = () => services.db.select().from(keptAside).all();
const audited = () =>
  services.db
    .select()
    .from(audit)
    .all()
    .filter(({ action }) => action === "read-kept-aside");

describe("what was kept aside, after an upgrade that can read it [FP-13.3]", () => {
  beforeEach(async () => {
    const greeting = hello({ unit, uptime: 1 });
    await services.telemetry.append([incoming(greeting, switchedOn, unit)]);
  });

  it("is taken into the record, where it happened and as it first reached us, and is audited", async () => {
    keptAsideBefore(encodeUplink(power));
    expect(await readAsideAgain(services)).toBe(1);
    const { powerEvents } = await services.telemetry.read(unit, span);
    expect(powerEvents).toMatchObject([
      { event: "charge-start", at: switchedOn + 590_000, receivedAt: arrived },
    ]);
    expect(asideRows()).toEqual([]);
    expect(audited()).toHaveLength(1);
  });

  it("is taken in once, however often the service starts", async () => {
    keptAsideBefore(encodeUplink(power));
    await readAsideAgain(services);
    expect(await readAsideAgain(services)).toBe(0);
    expect(audited()).toHaveLength(1);
    expect((await services.telemetry.read(unit, span)).powerEvents).toHaveLength(1);
  });

  it("is let go of by the next start, where this one stopped between taking it in and that", async () => {
    keptAsideBefore(encodeUplink(power));
    await services.telemetry.append([incoming(power, arrived, unit)]);
    expect(await readAsideAgain(services)).toBe(1);
    expect(asideRows()).toEqual([]);
    expect((await services.telemetry.read(unit, span)).powerEvents).toHaveLength(1);
  });

  it("stays aside where it still can’t be read, or its name is another message’s", async () => {
    keptAsideBefore(Uint8Array.of(0xff, 0x00));
    await services.telemetry.append([incoming({ ...power, cellMillivolts: 3_600 }, arrived, unit)]);
    keptAsideBefore(encodeUplink(power), "FP-5.33");
    expect(await readAsideAgain(services)).toBe(0);
    expect(asideRows()).toHaveLength(2);
    expect(audited()).toEqual([]);
    const { powerEvents } = await services.telemetry.read(unit, span);
    expect(powerEvents.map(({ cell }) => cell)).toEqual([3_600]);
  });
});
