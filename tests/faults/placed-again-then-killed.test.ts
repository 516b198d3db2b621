import { rmSync } from "node:fs";
import { eq } from "drizzle-orm";
import { afterEach, beforeEach, expect, it } from "vitest";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import { systemClock } from "../../server/clock.ts";
import { instant, millisecondsIn } from "../../server/domain/units.ts";
import { openAuthority } from "../../server/enrolment/authority.ts";
import { reviewUnit } from "../../server/programme/review-unit.ts";
import { openDatabase } from "../../server/store/database.ts";
import { ledgerDaysOf } from "../../server/store/ledger-days.ts";
import { loan } from "../../server/store/schema/loans.ts";
import { createTelemetryStore } from "../../server/store/telemetry.ts";
import { certify, connectUnit } from "../ingest/broker-rig.ts";
import { incoming, minutesUpTo } from "../ingest/cushion-messages.ts";
import { type TestServices, testServices, things } from "../support/cast.ts";
import { type IngestChild, startIngest } from "./ingest-child.ts";

const unit = things.lentUnit;
const day = 24 * millisecondsIn.hour;
const now = systemClock.now();
/** More than a day of record, so that no gap at its end leads a review back to its beginning. */
const hours = 40;
const bootedAt = instant(now - (hours + 2) * millisecondsIn.hour);
/** The unit's clock is this far behind until somebody sets it right. */
const behind = 5 * day;
const always = { start: instant(0), end: instant(4_102_444_800_000) };

let services: TestServices;
let server: IngestChild | null = null;

beforeEach(() => {
  services = testServices();
  services.clock.set(now);
  const startedAt = instant(now - 10 * day);
  services.db.update(loan).set({ startedAt }).where(eq(loan.id, things.loan)).run();
});
afterEach(async () => {
  await server?.kill();
  services.database.close();
  rmSync(services.dataFolder, { recursive: true, force: true });
});

/** Minutes of the loan's ledger that the unit recorded, before and after a point in time. */
function recorded(on: TestServices, at: number): [before: number, after: number] {
  const runs = ledgerDaysOf(on.db, things.loan)
    .flatMap(({ runs: ofDay }) => ofDay)
    .filter(({ state }) => state === "seated");
  const minutes = (part: typeof runs) =>
    part.reduce((sum, run) => sum + (run.end - run.start) / millisecondsIn.minute, 0);
  return [minutes(runs.filter(({ end }) => end <= at)), minutes(runs.filter(({ end }) => end > at))];
}

it("a boot placed again leaves no minute at its old place, though the server dies before any review", async () => {
  const hour = (sequence: number, clockBehind: number) =>
    minutesUpTo({ unit, boot: 1, sequence, uptime: sequence * 3_600, bootedAt: bootedAt - clockBehind }, 60);
  const wrong = Array.from({ length: hours }, (_, at) => incoming(hour(at + 1, behind), now, unit));
  await services.telemetry.append(wrong);
  await reviewUnit(services, unit);
  const between = now - 3 * day;
  expect(recorded(services, between)).toEqual([hours * 60, 0]);
  const { dataFolder } = services;
  const authority = await openAuthority({ dataFolder, clock: systemClock, brokerHosts: [] });
  const credentials = await certify(authority, services.db, unit);
  services.database.close();

  server = await startIngest(dataFolder);
  const client = await connectUnit(server.port, credentials);
  const right = Buffer.from(encodeUplink(hour(hours + 1, 0)));
  await client.publishAsync(uplinkTopic(unit, "minutes"), right, { qos: 1 });
  await server.kill();
  client.end(true);

  const database = openDatabase(dataFolder);
  services = { ...services, database, db: database.db, telemetry: createTelemetryStore(database) };
  const { minutes } = await services.telemetry.read(unit, always);
  expect(minutes.every(({ at }) => at > between)).toBe(true);
  await reviewUnit(services, unit);
  expect(recorded(services, between)).toEqual([0, (hours + 1) * 60]);
  expect(await services.telemetry.unreviewedOf(unit)).toBeNull();
});
