import { spawn } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import pino from "pino";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { z } from "zod";
import { type RunningService, startService } from "../../server/service.ts";
import { addStaff } from "../../server/store/staff.ts";
import { cast, movableClock, seededChance, signedInAs, testStart, testZone } from "../support/cast.ts";

let dataFolder: string;
beforeEach(() => {
  dataFolder = mkdtempSync(join(tmpdir(), "cushionry-service-"));
});
afterEach(() => rmSync(dataFolder, { recursive: true, force: true }));

const start = (changes: { port?: number; demo?: boolean } = {}): Promise<RunningService> =>
  startService({
    config: {
      port: changes.port ?? 0,
      mqttPort: 0,
      dataFolder,
      baseUrl: null,
      zone: testZone,
      frontBroker: null,
    },
    clock: movableClock(testStart),
    chance: seededChance("service"),
    log: pino({ level: "silent" }),
    ...(changes.demo ? { demo: { cast: [cast.clinician.id] } } : {}),
  });

const readiness = z.object({ ready: z.boolean(), parts: z.record(z.string(), z.string()) });

describe("the service", () => {
  it("on an empty folder is ready, and gives a link for the first administrator that the next start replaces", async () => {
    const first = await start();
    const answer = await fetch(`${first.url}/readyz`);
    expect(readiness.parse(await answer.json())).toEqual({
      ready: true,
      parts: { database: "ready", broker: "ready", authority: "ready" },
    });
    expect(first.mqttPort).toBeGreaterThan(0);
    const link = new URL(first.setUpLink ?? "").pathname;
    expect((await fetch(`${first.url}${link}`)).status).toBe(200);
    await first.stop();

    const second = await start();
    expect((await fetch(`${second.url}${link}`)).status).toBe(410);
    await second.stop();
  });

  it("that can't write says which part is not ready, and is still alive", async () => {
    const service = await start();
    service.services.db.run("pragma query_only = on");
    const answer = await fetch(`${service.url}/readyz`);
    expect(answer.status).toBe(503);
    expect(readiness.parse(await answer.json()).parts).toMatchObject({
      database: "not ready",
      broker: "ready",
    });
    expect((await fetch(`${service.url}/healthz`)).status).toBe(200);
    service.services.db.run("pragma query_only = off");
    await service.stop();
  });

  it("stops while a page still follows its changes, and closes its ports", async () => {
    const service = await start({ demo: true });
    const { db, clock, chance } = service.services;
    const member = { ...cast.technician, createdAt: clock.now() };
    addStaff(db, member);
    const { headers } = signedInAs({ db, clock, chance }, "technician");
    const stream = await fetch(`${service.url}/live?topics=bench`, { headers });
    const reader = stream.body?.getReader();
    await reader?.read();
    await service.stop();
    expect((await reader?.read())?.done).toBe(true);
    await expect(fetch(`${service.url}/healthz`)).rejects.toThrow();
    await service.stop();
  });

  it("whose port is taken starts nothing and leaves nothing open", async () => {
    const taken = createServer();
    await new Promise<void>((resolve) => taken.listen(0, resolve));
    const address = taken.address();
    const port = typeof address === "object" && address !== null ? address.port : 0;
    await expect(start({ port })).rejects.toThrow(/EADDRINUSE/);
    await new Promise((resolve) => taken.close(resolve));
    await (await start({ port })).stop();
  });
});

describe("the process", () => {
  const run = (environment: Record<string, string>) =>
    spawn(process.execPath, ["--import", "tsx", "server/start.ts"], {
      env: { PATH: process.env.PATH, DATA_DIR: dataFolder, PORT: "0", MQTT_PORT: "0", ...environment },
    });

  const endOf = (child: ReturnType<typeof run>) =>
    new Promise<number | null>((resolve) => child.on("exit", (code) => resolve(code)));

  it("prints the link, keeps it out of the log, and ends with 0 on SIGTERM", async () => {
    const child = run({});
    let said = "";
    let logged = "";
    child.stdout.on("data", (chunk) => {
      logged += chunk;
    });
    const ended = endOf(child);
    await new Promise<void>((resolve) => {
      child.stderr.on("data", (chunk) => {
        said += chunk;
        if (/\/set-up\/[\w-]{43}/.test(said)) resolve();
      });
    });
    child.kill("SIGTERM");
    expect(await ended).toBe(0);
    expect(logged).toContain('"msg":"started"');
    expect(logged).not.toContain("/set-up/");
  });

  it("refuses to start on a bad setting and names it", async () => {
    const child = run({ PROGRAMME_ZONE: "Mars/Base" });
    let said = "";
    child.stderr.on("data", (chunk) => {
      said += chunk;
    });
    expect(await endOf(child)).toBe(2);
    expect(said).toBe("Not started. PROGRAMME_ZONE must be an IANA zone name such as Europe/London.\n");
  });
});
