import { afterEach, beforeEach, expect, it } from "vitest";
import { Certificates } from "../../scripts/simulated-cushions/certificates.ts";
import { SimulatedCushion } from "../../scripts/simulated-cushions/cushion.ts";
import { Delivery } from "../../scripts/simulated-cushions/delivery.ts";
import { noTruth } from "../../scripts/simulated-cushions/truth.ts";
import { certificateSerial } from "../../server/domain/ids.ts";
import { commandUnit } from "../../server/programme/command-unit.ts";
import { certificateBySerial, usableCertificatesOf } from "../../server/store/certificates.ts";
import { commandLinesOf } from "../../server/store/unit-commands.ts";
import { soundCushion, steadyPerson, zone } from "../simulated-cushions/cast.ts";
import { cast, things } from "../support/cast.ts";
import { type BrokerRig, brokerRig, issue } from "./broker-rig.ts";

const unit = things.lentUnit;
const hour = 3_600_000;
let rig: BrokerRig;
let home: Delivery;

beforeEach(async () => {
  rig = await brokerRig();
  const { key, cert, ca } = await rig.credentialsFor(unit);
  const now = rig.services.clock.now();
  const faults = [{ kind: "column-open", from: now - hour, column: 4 }] as const;
  const spec = { ...soundCushion, serial: unit, faults };
  const cushion = new SimulatedCushion(
    spec,
    { person: steadyPerson, personSeed: "obeys", zone },
    "obeys",
    now - hour,
    noTruth,
  );
  cushion.advance(now);
  home = new Delivery(cushion, {
    unit,
    privateKey: key,
    certificateChain: cert,
    authority: ca,
    broker: { host: "127.0.0.1", port: rig.broker.port },
    topicRoot: "",
    plan: { version: 1, intervalMinutes: 30, holdSeconds: 60, kinds: ["lift"] },
  });
});
afterEach(async () => {
  await home.hangUp();
  await rig.stop();
});

const ask = (kind: "frame" | "self-test" | "renew-certificate") => {
  const actor = { kind: "staff", id: cast.technician.id, role: "technician" } as const;
  expect(commandUnit(rig.services, actor, { unit, kind }).kind).toBe("issued");
};
const lines = () => commandLinesOf(rig.services.db, unit, 5);
const deliver = async () => {
  const report = await home.deliver(rig.services.clock.now(), 20);
  expect(report.problem).toBeNull();
};

it("a simulated cushion sends a picture as soon as it is asked while connected", async () => {
  await deliver();
  ask("frame");
  await expect.poll(() => lines()[0]?.state).toBe("done");
});

it("a simulated cushion that was away tests its grid when it is back, and its page knows the dead column", async () => {
  await deliver();
  await home.hangUp();
  ask("self-test");
  rig.services.clock.move(20 * 60_000);
  home.cushion.advance(rig.services.clock.now());
  await deliver();
  await expect
    .poll(() => lines()[0])
    .toMatchObject({
      state: "done",
      found: { passed: false, failedColumns: [4] },
    });
});

it("a simulated cushion makes a new key when asked, and comes back with its new certificate", async () => {
  await deliver();
  const { db, clock } = rig.services;
  const [old] = usableCertificatesOf(db, unit, clock.now());
  ask("renew-certificate");
  await expect
    .poll(() => certificateBySerial(db, old?.serial ?? certificateSerial(""))?.revokeReason)
    .toBe("superseded");
  expect(usableCertificatesOf(db, unit, clock.now())).toHaveLength(1);
  expect(lines()).toMatchObject([{ kind: "renew-certificate", state: "done" }]);
  clock.move(20 * 60_000);
  home.cushion.advance(clock.now());
  await deliver();
});

it("a simulated cushion whose new certificate is refused goes on with the old one [FP-12.7]", async () => {
  const { unit: serial, key, cert, ca } = await rig.credentialsFor(unit);
  const neverStored = (await issue(rig.authority, unit)).credentials;
  const enrolled = (privateKey: string, certificateChain: string) => ({
    unit: serial,
    privateKey,
    certificateChain,
    authority: ca,
    broker: { host: "127.0.0.1", port: rig.broker.port },
    topicRoot: "",
    plan: { version: 1, intervalMinutes: 30, holdSeconds: 60, kinds: ["lift" as const] },
  });
  const now = rig.services.clock.now();
  const certificates = new Certificates(enrolled(key, cert));
  certificates.takeOver(enrolled(neverStored.key, neverStored.cert));
  home = new Delivery(home.cushion, certificates);
  await deliver();
  expect(rig.broker.counters().refusedConnections).toBe(1);
  expect(certificates.toUse(now).certificateChain).toBe(cert);
  expect(certificates.toUse(now + hour).certificateChain).toBe(neverStored.cert);
});
