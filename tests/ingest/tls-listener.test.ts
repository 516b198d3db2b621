import { once } from "node:events";
import { type ConnectionOptions, connect, type TLSSocket } from "node:tls";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { things } from "../support/cast.ts";
import { type BrokerRig, brokerRig } from "./broker-rig.ts";

let rig: BrokerRig;
const open: TLSSocket[] = [];

beforeEach(async () => {
  rig = await brokerRig();
});
afterEach(async () => {
  for (const socket of open.splice(0)) socket.destroy();
  await rig.stop();
});

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
