import { once } from "node:events";
import { type ConnectionOptions, connect, type TLSSocket } from "node:tls";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import { systemClock } from "../../server/clock.ts";
import { instant } from "../../server/domain/units.ts";
import { keepCertificates } from "../../server/enrolment/keep-certificates.ts";
import { movableClock, things } from "../support/cast.ts";
import { type BrokerRig, brokerRig, connectUnit } from "./broker-rig.ts";
import { minutesUpTo } from "./cushion-messages.ts";

let rig: BrokerRig;
const open: TLSSocket[] = [];

beforeEach(async () => {
  rig = await brokerRig();
});
afterEach(async () => {
  for (const socket of open.splice(0)) socket.destroy();
  await rig.stop();
});

const silent = { info: () => {}, error: () => {} };

async function secured(options: ConnectionOptions): Promise<TLSSocket> {
  const socket = connect({ host: "127.0.0.1", port: rig.broker.port, ...options });
  open.push(socket);
  await once(socket, "secureConnect");
  return socket;
}

describe("TLS sessions", () => {
  it.each(["TLSv1.2", "TLSv1.3"] as const)(
    "are not taken up again in %s: each connection shows its certificate anew",
    async (maxVersion) => {
      const { key, cert, ca } = await rig.credentialsFor(things.lentUnit);
      const options = { key, cert, ca, minVersion: maxVersion, maxVersion };
      const first = connect({ host: "127.0.0.1", port: rig.broker.port, ...options });
      open.push(first);
      // Of TLS 1.3 it comes after the handshake (RFC 8446 section 4.6.1).
      const [session]: Buffer[] = await once(first, "session");
      if (session === undefined) throw new Error("no session came");
      const again = await secured({ ...options, session });
      expect(again.getProtocol()).toBe(maxVersion);
      expect(again.isSessionReused()).toBe(false);
    },
  );
});

describe("the broker's own certificate", () => {
  it("is renewed while it runs: new connections see the new one, and those that are open go on", async () => {
    await rig.stop();
    const day = 86_400_000;
    const clock = movableClock(instant(systemClock.now() - 345 * day));
    rig = await brokerRig(undefined, clock);
    const { authority, broker } = rig;
    const keeping = keepCertificates(authority, silent, () =>
      broker.show({ ...authority.broker, authority: authority.rootPem }),
    );
    keeping.stop();
    const unit = things.lentUnit;
    clock.set(instant(systemClock.now() - 60 * day));
    const credentials = await rig.credentialsFor(unit);
    const { key, cert, ca } = credentials;
    const seen = async () => (await secured({ key, cert, ca })).getPeerCertificate();
    const connected = await connectUnit(broker.port, credentials);
    try {
      const first = await seen();
      await keeping.look();
      expect((await seen()).serialNumber).toBe(first.serialNumber);
      clock.set(systemClock.now());
      await keeping.look();
      const renewed = await seen();
      expect(renewed.serialNumber).not.toBe(first.serialNumber);
      expect(Date.parse(renewed.valid_to) - Date.parse(first.valid_to)).toBeCloseTo(345 * day, -5);
      expect(renewed.subjectaltname).toBe(first.subjectaltname);
      const payload = encodeUplink(minutesUpTo({ unit, sequence: 0, uptime: 60 }, 1));
      await connected.publishAsync(uplinkTopic(unit, "minutes"), Buffer.from(payload), { qos: 1 });
      expect(broker.counters().stored).toBe(1);
      // Still asks for theirs.
      await expect(secured({ ca, maxVersion: "TLSv1.2" })).rejects.toThrow();
    } finally {
      connected.end(true);
    }
  });
});
