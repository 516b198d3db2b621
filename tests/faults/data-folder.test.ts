import { spawn, spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { systemClock } from "../../server/clock.ts";
import { instant } from "../../server/domain/units.ts";
import { openAuthority } from "../../server/enrolment/authority.ts";
import { openDatabase } from "../../server/store/database.ts";
import { createTelemetryStore } from "../../server/store/telemetry.ts";
import { certify } from "../ingest/broker-rig.ts";
import { switchedOn } from "../ingest/cushion-messages.ts";
import { type SignedInRequest, signedInAs, testServices, things } from "../support/cast.ts";
import { LoadedUnit } from "./loaded-unit.ts";
import {
  copyOfImage,
  mayMount,
  mayMountImage,
  type ServiceChild,
  startOnSmallDisk,
} from "./service-child.ts";
import { until } from "./until.ts";

const everything = { start: instant(0), end: instant(4_102_444_800_000) };
let root: string;
let seed: string;
let unit: LoadedUnit;
let technician: SignedInRequest;
let service: ServiceChild | null = null;

beforeEach(async () => {
  root = mkdtempSync(join(tmpdir(), "data-folder-"));
  const services = testServices();
  services.clock.set(systemClock.now());
  seed = services.dataFolder;
  const authority = await openAuthority({ dataFolder: seed, clock: systemClock, brokerHosts: [] });
  unit = new LoadedUnit(await certify(authority, services.db, things.lentUnit));
  technician = signedInAs(services, "technician");
  services.database.close();
});
afterEach(() => {
  service?.process.kill("SIGKILL");
  for (const folder of [root, seed]) rmSync(folder, { recursive: true, force: true });
});

describe("a data folder that can't be used", () => {
  it.skipIf(!mayMount())(
    "because it is read-only stops the start with words that say what to do",
    async () => {
      const disk = { folder: join(root, "disk"), megabytes: 24, finally: 'mount -o remount,ro "$DATA_DIR"' };
      const starting = startOnSmallDisk(seed, disk);
      await expect(starting).rejects.toThrow(
        /ended with 1: Not started: The data folder \S+ can't be written to\. Give the user that runs the service the right to write there/,
      );
    },
  );

  it("because its file is damaged stops the start with words that say what to do, and leaves the file as it is", async () => {
    const file = join(seed, "cushionry.sqlite");
    const torn = readFileSync(file).subarray(0, -2_048);
    writeFileSync(file, torn);
    const child = spawn(process.execPath, ["--import", "tsx", "server/start.ts"], {
      env: { PATH: process.env.PATH, DATA_DIR: seed, PORT: "0", MQTT_PORT: "0" },
      stdio: ["ignore", "ignore", "pipe"],
    });
    let said = "";
    child.stderr.on("data", (chunk) => {
      said += chunk;
    });
    expect(await new Promise((resolve) => child.once("exit", resolve))).toBe(1);
    expect(said).toMatch(
      /^Not started: \S+ is damaged \(.*\)\. Nothing was changed in it\. Put the newest backup/,
    );
    expect(Buffer.compare(readFileSync(file), torn)).toBe(0);
  });

  it.skipIf(!mayMountImage())(
    "any more, because its disk has gone read-only under load, is told on every page, and keeps all that was acknowledged",
    async () => {
      const folder = join(root, "disk");
      service = await startOnSmallDisk(seed, { folder, megabytes: 48, image: join(root, "disk.img") });
      const { url, mqttPort, process: child } = service;
      let over = false;
      const load = unit.loadThroughFaults(mqttPort, () => over);
      await until(() => unit.acknowledged.size > 200);
      // ext4 does the same by itself when its journal can't be written: everything is an error from then on.
      const args = ["-m", "-t", String(child.pid), "mount", "-o", "remount,abort", folder];
      expect(spawnSync("nsenter", args).status).toBe(0);
      await until(async () => (await fetch(`${url}/readyz`)).status === 503);
      const page = await (await fetch(`${url}/bench`, technician)).text();
      expect(page).toMatch(
        /Nothing can be saved: the server’s (data folder can’t be written to|disk reports errors)/,
      );
      expect((await fetch(`${url}/healthz`)).status).toBe(200);
      over = true;
      await load;
      child.kill("SIGTERM");
      await service.exited;

      const after = join(root, "after");
      copyOfImage(join(root, "disk.img"), folder, after);
      const database = openDatabase(after);
      const { minutes } = await createTelemetryStore(database).read(things.lentUnit, everything);
      const there = new Set(minutes.map(({ at }) => Math.round((at - switchedOn) / 60_000)));
      database.close();
      expect([...unit.acknowledged].filter((sequence) => !there.has(sequence))).toEqual([]);
      expect(unit.acknowledged.size).toBeGreaterThan(200);
    },
    60_000,
  );
});
