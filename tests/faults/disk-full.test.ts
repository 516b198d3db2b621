import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, it } from "vitest";
import { z } from "zod";
import { systemClock } from "../../server/clock.ts";
import { type UnitSerial, unitSerial } from "../../server/domain/ids.ts";
import { instant } from "../../server/domain/units.ts";
import { openAuthority } from "../../server/enrolment/authority.ts";
import { openDatabase } from "../../server/store/database.ts";
import { unit } from "../../server/store/schema/equipment.ts";
import { createTelemetryStore } from "../../server/store/telemetry.ts";
import { certify } from "../ingest/broker-rig.ts";
import { type SignedInRequest, signedInAs, testServices, things } from "../support/cast.ts";
import { LoadedUnit } from "./loaded-unit.ts";
import { crash, mayMount, type ServiceChild, startOnSmallDisk } from "./service-child.ts";
import { until } from "./until.ts";

const always = { start: instant(0), end: instant(4_102_444_800_000) };
const unitCount = 3;
const readiness = z.object({ ready: z.boolean(), parts: z.record(z.string(), z.string()) });

let root: string;
let seed: string;
let coordinator: SignedInRequest;
let units: LoadedUnit[];
let service: ServiceChild | null = null;

beforeEach(async () => {
  root = mkdtempSync(join(tmpdir(), "disk-full-"));
  const services = testServices();
  services.clock.set(systemClock.now());
  seed = services.dataFolder;
  const authority = await openAuthority({ dataFolder: seed, clock: systemClock, brokerHosts: [] });
  units = [];
  for (let number = 0; number < unitCount; number++) {
    const serial: UnitSerial = unitSerial(`CU-00060${number}`);
    const kind = { modelId: things.model, lotId: things.lot, placeSince: services.clock.now() };
    services.db
      .insert(unit)
      .values({ serial, place: "on-loan", ...kind })
      .run();
    units.push(new LoadedUnit(await certify(authority, services.db, serial)));
  }
  coordinator = signedInAs(services, "coordinator");
  services.database.close();
});

afterEach(() => {
  service?.process.kill("SIGKILL");
  for (const folder of [root, seed]) rmSync(folder, { recursive: true, force: true });
});

const acknowledged = () => units.reduce((sum, each) => sum + each.acknowledged.size, 0);
const written = () => units.reduce((sum, each) => sum + each.written, 0);

/** Takes what room there is, down to the last page. */
function fillDisk(folder: string): void {
  for (let bytes = 1024 * 1024; bytes >= 512; bytes /= 2) {
    for (let pieces = 0; pieces < 10_000; pieces++) {
      try {
        writeFileSync(join(folder, "ballast"), Buffer.alloc(bytes), { flag: "a" });
      } catch {
        break;
      }
    }
  }
}

it.skipIf(!mayMount())(
  "on a disk that fills under load the service says so, loses nothing it acknowledged, and takes all in once there is room",
  async () => {
    service = await startOnSmallDisk(seed, { megabytes: 24, folder: join(root, "disk") });
    const { url, mqttPort, dataFolder } = service;
    const ready = async () => {
      const answer = await fetch(`${url}/readyz`);
      return { status: answer.status, ...readiness.parse(await answer.json()) };
    };
    const worklist = async () => (await fetch(`${url}/stores`, coordinator)).text();
    expect((await ready()).status).toBe(200);
    expect(await worklist()).not.toContain("Nothing can be saved");

    let over = false;
    const loads = units.map((each) => each.loadThroughFaults(mqttPort, () => over));
    await until(() => units.every(({ acknowledged: told }) => told.size > 50));
    fillDisk(dataFolder);
    await until(async () => (await ready()).status === 503);
    expect((await ready()).parts).toEqual({ database: "not ready", broker: "ready", authority: "ready" });
    // Commits fail as well, sooner or later: what room the log still had is used up.
    let before = -1;
    await until(() => {
      const still = before === acknowledged() && units.every(({ isConnected }) => !isConnected);
      before = acknowledged();
      return still;
    });
    expect(await worklist()).toMatch(/Nothing can be saved: the server’s disk is full/);
    const form = coordinator.post({ name: "Person Three", area: "North" });
    const refused = await fetch(`${url}/sign-out`, { ...form, redirect: "manual" });
    expect(refused.status).toBe(503);
    expect(await refused.text()).toMatch(/What you just sent was not saved: the server’s disk is full/);
    const promisedWhileFull = acknowledged();

    rmSync(join(dataFolder, "ballast"));
    await until(() => acknowledged() > promisedWhileFull + 100);
    await until(async () => (await ready()).ready);
    expect(await worklist()).not.toContain("Nothing can be saved");
    over = true;
    await Promise.all(loads);
    for (const each of units) {
      await each.connect(mqttPort);
      await each.resend(each.unsettled());
      each.hangUp();
    }
    expect(acknowledged()).toBe(written());

    const after = join(root, "after");
    await crash(service, after);
    const database = openDatabase(after);
    const store = createTelemetryStore(database);
    for (const { credentials, written: sent } of units) {
      const { minutes, holes } = await store.read(credentials.unit, always);
      expect([minutes.length, holes]).toEqual([sent, []]);
    }
    database.close();
  },
  90_000,
);
