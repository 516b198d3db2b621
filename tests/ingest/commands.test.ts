import "reflect-metadata";
import { createPrivateKey } from "node:crypto";
import { Pkcs10CertificateRequestGenerator, X509Certificate } from "@peculiar/x509";
import type { MqttClient } from "mqtt";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import type { Certificate, Command, DownlinkMessage } from "../../firmware-protocol/src/downlink.ts";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import type { UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import { uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import { instant, millisecondsIn } from "../../server/domain/units.ts";
import { commandUnit } from "../../server/programme/command-unit.ts";
import { expireCommands } from "../../server/programme/follow-command.ts";
import { askForRenewals } from "../../server/programme/renew-certificates.ts";
import {
  certificatesEndingBefore,
  certificatesInUseEndingBefore,
  usableCertificatesOf,
} from "../../server/store/certificates.ts";
import { certificate } from "../../server/store/schema/enrolment.ts";
import { commandLinesOf } from "../../server/store/unit-commands.ts";
import { cast, things } from "../support/cast.ts";
import {
  type BrokerRig,
  brokerRig,
  closed,
  connectUnit,
  downlinkOf,
  type UnitCredentials,
} from "./broker-rig.ts";

const unit = things.lentUnit;
const technician = { kind: "staff", id: cast.technician.id, role: "technician" } as const;
const isCommand = (message: DownlinkMessage): message is Command => message.kind === "command";
const isCertificate = (message: DownlinkMessage): message is Certificate => message.kind === "certificate";

let rig: BrokerRig;
let credentials: UnitCredentials;
const open: MqttClient[] = [];
let sequence = 0;

beforeEach(async () => {
  rig = await brokerRig();
  credentials = await rig.credentialsFor(unit);
  sequence = 0;
});
afterEach(async () => {
  for (const client of open.splice(0)) client.end(true);
  await rig.stop();
});

async function connected(as = credentials): Promise<MqttClient> {
  const client = await connectUnit(rig.broker.port, as);
  open.push(client);
  return client;
}

const envelope = () => ({ unit, boot: 1, sequence: sequence++, uptimeSeconds: 100, wallSeconds: null });
const say = (client: MqttClient, message: UplinkMessage) =>
  client.publishAsync(uplinkTopic(unit, message.kind), Buffer.from(encodeUplink(message)), { qos: 1 });
const result = (command: string, state: "done" | "accepted"): UplinkMessage => ({
  kind: "result",
  ...envelope(),
  command,
  atUptimeSeconds: 90,
  state,
  reason: null,
});
function ask(kind: "frame" | "self-test" = "frame"): string {
  const outcome = commandUnit(rig.services, technician, { unit, kind });
  if (outcome.kind !== "issued") throw new Error(outcome.sentence);
  return outcome.command;
}
const lines = () => commandLinesOf(rig.services.db, unit, 10);

describe("a command", () => {
  it("reaches a connected unit at once, is shown as sent when acknowledged and as done when it says so", async () => {
    const client = await connected();
    const downlink = await downlinkOf(client, unit);
    const id = ask();
    expect((await downlink.next(isCommand)).id).toBe(id);
    await say(client, result(id, "done"));
    expect(lines()).toMatchObject([{ id, state: "done", answer: { state: "done" } }]);
    expect(lines()[0]?.sentAt).not.toBeNull();
  });

  it("waits for a unit that is away, comes again on each connection until it ends, and is done once", async () => {
    const id = ask();
    const first = await connected();
    expect((await (await downlinkOf(first, unit)).next(isCommand)).id).toBe(id);
    await first.endAsync();
    const second = await connected();
    expect((await (await downlinkOf(second, unit)).next(isCommand)).id).toBe(id);
    const done = result(id, "done");
    await say(second, done);
    const [before] = lines();
    rig.services.clock.move(5_000);
    await say(second, done);
    await say(second, result(id, "accepted"));
    expect(lines()[0]).toEqual(before);
    const third = await connected();
    const downlink = await downlinkOf(third, unit);
    await say(third, result("cmd_of_nobody", "done"));
    await downlink.next((message) => message.kind === "receipt");
    expect(downlink.heard.filter(isCommand)).toEqual([]);
  });

  it("that nobody answered in time is told to no unit, and a late answer doesn't undo that", async () => {
    const id = ask();
    rig.services.clock.move(25 * millisecondsIn.hour);
    expireCommands(rig.services);
    const client = await connected();
    await say(client, result(id, "done"));
    expect(lines()).toMatchObject([{ state: "expired", answer: { state: "done" }, sentAt: null }]);
  });

  it("is for the desks that may give it, and for a clinician only where the unit is with an own person", () => {
    const give = (
      person: { id: typeof cast.clinician.id; role: "clinician" | "coordinator" },
      kind: "frame" | "forget",
    ) => {
      const outcome = commandUnit(rig.services, { kind: "staff", ...person }, { unit, kind });
      return outcome.kind === "refused" ? outcome.rule : outcome.kind;
    };
    expect(give({ id: cast.otherClinician.id, role: "clinician" }, "frame")).toBe("not-your-person");
    expect(give({ id: cast.coordinator.id, role: "coordinator" }, "frame")).toBe("not-for-this-desk");
    expect(give({ id: cast.coordinator.id, role: "coordinator" }, "forget")).toBe("not-for-this-desk");
    expect(give({ id: cast.clinician.id, role: "clinician" }, "frame")).toBe("issued");
    expect(give({ id: cast.clinician.id, role: "clinician" }, "frame")).toBe("asked-already");
  });
});

describe("a new certificate over the old one's connection", () => {
  const algorithm = { name: "ECDSA", namedCurve: "P-256", hash: "SHA-256" } as const;

  async function request() {
    const keys = await crypto.subtle.generateKey(algorithm, true, ["sign", "verify"]);
    const made = await Pkcs10CertificateRequestGenerator.create({
      name: `CN=${unit}`,
      keys,
      signingAlgorithm: algorithm,
    });
    const pkcs8 = Buffer.from(await crypto.subtle.exportKey("pkcs8", keys.privateKey));
    const key = createPrivateKey({ key: pkcs8, format: "der", type: "pkcs8" });
    return {
      der: new Uint8Array(made.rawData),
      key: key.export({ format: "pem", type: "pkcs8" }).toString(),
    };
  }

  it("is asked for within 60 days of the end, works beside the old one, and ends it once it is used", async () => {
    const { services } = rig;
    askForRenewals(services);
    expect(lines()).toEqual([]);
    const client = await connected();
    const downlink = await downlinkOf(client, unit);
    const asked = commandUnit(services, technician, { unit, kind: "renew-certificate" });
    if (asked.kind !== "issued") throw new Error(asked.sentence);
    await downlink.next(isCommand);

    const { der, key } = await request();
    await say(client, { kind: "renewal", ...envelope(), request: der, command: asked.command });
    const answer = await downlink.next(isCertificate);
    expect(answer.renewal).toEqual({ boot: 1, sequence: 0 });
    expect(usableCertificatesOf(services.db, unit, services.clock.now())).toHaveLength(2);

    // The same request again, in another message, gets the same certificate again.
    await say(client, { kind: "renewal", ...envelope(), request: der });
    const again = await downlink.next(
      (message): message is Certificate => isCertificate(message) && message.renewal.sequence === 1,
    );
    expect(again.chain).toEqual(answer.chain);

    const [leaf = new Uint8Array()] = answer.chain;
    const cert = `${new X509Certificate(Uint8Array.from(leaf)).toString("pem")}\n`;
    // The old one opens connections as long as the new one was not used.
    await client.endAsync();
    const stillOld = await connected();
    const dropped = closed(stillOld);
    await connected({ ...credentials, key, cert });
    await dropped;
    await expect(connected()).rejects.toThrow(/not authorized/i);
    expect(usableCertificatesOf(services.db, unit, services.clock.now())).toHaveLength(1);
  });

  it("does not end the notice of the old one’s end before it has been used", async () => {
    const { services } = rig;
    const { db, clock } = services;
    const month = instant(clock.now() + 30 * 24 * millisecondsIn.hour);
    const ending = () => certificatesInUseEndingBefore(db, month).map((each) => each.unit);
    expect(ending()).toEqual([]);
    db.update(certificate)
      .set({ expiresAt: instant(clock.now() + 10 * 24 * millisecondsIn.hour) })
      .run();
    const client = await connected();
    const downlink = await downlinkOf(client, unit);
    const { der, key } = await request();
    await say(client, { kind: "renewal", ...envelope(), request: der });
    const [leaf = new Uint8Array()] = (await downlink.next(isCertificate)).chain;
    expect(certificatesEndingBefore(db, month)).toEqual([]);
    expect(ending()).toEqual([unit]);
    const cert = `${new X509Certificate(Uint8Array.from(leaf)).toString("pem")}\n`;
    await connected({ ...credentials, key, cert });
    await expect.poll(ending).toEqual([]);
  });

  it("is refused where the request is not signed by its own key, and the staff see it", async () => {
    const client = await connected();
    const { der } = await request();
    const other = Uint8Array.from(der);
    other[other.length - 1] = (other[other.length - 1] ?? 0) ^ 1;
    await say(client, { kind: "renewal", ...envelope(), request: other });
    await expect
      .poll(() => lines()[0])
      .toMatchObject({ kind: "renew-certificate", state: "refused", answer: { reason: "signature" } });
  });

  it("is asked for by the programme itself, once, when 60 days are left", () => {
    const { services } = rig;
    services.clock.move(345 * 24 * millisecondsIn.hour);
    askForRenewals(services);
    askForRenewals(services);
    expect(lines()).toMatchObject([{ kind: "renew-certificate", state: "waiting", issuedBy: null }]);
  });
});
