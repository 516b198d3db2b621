import { serve } from "@hono/node-server";
import { Hono } from "hono";
import { afterEach, expect, it } from "vitest";
import { playUnit } from "../../scripts/conformance/as-unit/play-unit.ts";
import type { Ruling } from "../../scripts/conformance/findings.ts";
import { exitCodeOf } from "../../scripts/conformance/print-rulings.ts";
import { openEnrolment } from "../../server/enrolment/enrolment.ts";
import { enrolRoutes } from "../../server/http/enrol-route.ts";
import type { AppEnv } from "../../server/http/route.ts";
import { commandUnit } from "../../server/programme/command-unit.ts";
import type { StoredUpTo, TelemetryStore } from "../../server/store/telemetry-port.ts";
import { issue } from "../enrolment/setting.ts";
import { type BrokerRig, brokerRig } from "../ingest/broker-rig.ts";
import { cast, things } from "../support/cast.ts";

const unit = things.lentUnit;
let rig: BrokerRig;
let undo: (() => unknown)[] = [];

afterEach(async () => {
  for (const each of undo.reverse()) await each();
  undo = [];
  await rig.stop();
});

async function start(telemetry?: (real: TelemetryStore) => TelemetryStore): Promise<void> {
  rig = await brokerRig(telemetry);
}

/** The real door for pairing codes, beside the real broker. */
async function enrolment() {
  const { services } = rig;
  const broker = { host: "127.0.0.1", port: rig.broker.port };
  const opened = await openEnrolment(services, { dataFolder: services.dataFolder, broker });
  const app = new Hono<AppEnv>();
  for (const route of enrolRoutes(services, opened)) app.on(route.method, route.path, route.handle);
  const server = serve({ fetch: app.fetch, port: 0, hostname: "127.0.0.1" });
  await new Promise((listening) => server.once("listening", listening));
  undo.push(() => server.close());
  const address = server.address();
  const port = typeof address === "object" && address !== null ? address.port : 0;
  const { jws } = await issue({ services, enrolment: opened });
  return { server: `http://127.0.0.1:${port}`, unit, code: jws };
}

const givenCertificate = async () => {
  const { key, cert, ca } = await rig.credentialsFor(unit);
  return { unit, key, certificateChain: cert, authority: ca, host: "127.0.0.1", port: rig.broker.port };
};

const options = { boot: 7, commandSeconds: 0, renew: false, say: () => undefined };
const brokenIn = (rulings: readonly Ruling[]) =>
  rulings.filter(({ verdict }) => verdict === "broken").map(({ clause, because }) => `${clause} ${because}`);

it("our own server keeps every clause that a unit can see, from the pairing code to the new certificate", async () => {
  await start();
  const who = await enrolment();
  const actor = { kind: "staff", id: cast.technician.id, role: "technician" } as const;
  expect(commandUnit(rig.services, actor, { unit, kind: "frame" }).kind).toBe("issued");
  const rulings = await playUnit({ ...options, who });
  expect(rulings.filter(({ verdict }) => verdict === "broken" || verdict === "not-as-advised")).toEqual([]);
  expect(exitCodeOf(rulings)).toBe(0);
  expect(rulings.filter(({ because }) => because.startsWith("the run ended"))).toEqual([]);
  const seen = ["FP-2.3", "FP-2.9", "FP-4.11", "FP-6.6", "FP-6.10", "FP-7.3", "FP-8.6", "FP-11.1", "FP-12.6"];
  const held = rulings.filter(({ verdict }) => verdict === "holds").map(({ clause }) => clause);
  expect(held).toEqual(expect.arrayContaining(seen));
}, 120_000);

/** Changes what the store says of each unit's boots after a commit. */
const withReceipts =
  (change: (stored: StoredUpTo) => StoredUpTo) =>
  (real: TelemetryStore): TelemetryStore => ({
    ...real,
    append: async (batch) => {
      const outcome = await real.append(batch);
      const receipts = [...outcome.receipts].map(([of, boots]) => [of, boots.map(change)] as const);
      return { ...outcome, receipts: new Map(receipts) };
    },
  });

it.each([
  ["runs ahead of what was sent", (stored: StoredUpTo) => ({ ...stored, through: stored.through + 2 })],
  ["hides a hole", (stored: StoredUpTo) => ({ ...stored, holes: [] })],
])(
  "a server whose receipt %s is found out, though it acknowledges everything",
  async (_, change) => {
    await start(withReceipts(change));
    const rulings = await playUnit({ ...options, who: await givenCertificate() });
    const broken = brokenIn(rulings);
    expect(broken).toEqual(expect.arrayContaining([expect.stringMatching(/^FP-7.2 a receipt said/)]));
    expect(broken.filter((each) => !/^FP-(6|7|4)\./.test(each))).toEqual([]);
    expect(exitCodeOf(rulings)).toBe(1);
  },
  120_000,
);
