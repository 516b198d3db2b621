import { connect } from "node:tls";
import { z } from "zod";
import { Link } from "../../scripts/conformance/mqtt/link.ts";
import { type ConnectOptions, connectPacket, pubackPacket } from "../../scripts/conformance/mqtt/packets.ts";
import published from "../reference/mqtt-statements.json" with { type: "json" };
import type { UnitCredentials } from "./broker-rig.ts";

const schema = z.object({
  source: z.string().min(1),
  statements: z.array(
    z.object({
      id: z.string(),
      theme: z.enum(["connect", "session", "publish", "subscribe"]),
      meaning: z.string(),
      also: z.string().optional(),
    }),
  ),
});
export const { statements } = schema.parse(published);

/** Enough for an answer on a busy machine; what must not come is waited for only briefly. */
export const answered = 5_000;
export const silent = 400;

/** A TLS connection with a unit's certificate, over which a test sends any bytes. */
export function rawLink(port: number, { key, cert, ca }: UnitCredentials): Promise<Link> {
  return new Promise((resolve, reject) => {
    const socket = connect({ host: "127.0.0.1", port, key, cert, ca });
    socket.once("error", reject);
    socket.once("secureConnect", () => resolve(new Link(socket)));
  });
}

/** The same, with a CONNECT accepted. */
export async function rawUnit(
  port: number,
  credentials: UnitCredentials,
  changes: Partial<ConnectOptions> = {},
): Promise<Link> {
  const link = await rawLink(port, credentials);
  link.send(connectPacket({ clientId: credentials.unit, ...changes }));
  const connack = await link.next("connack", answered);
  if (connack?.code !== 0) throw new Error(`not let in: ${JSON.stringify(connack)}`);
  return link;
}

/** The next message of this kind from the server, acknowledged where it asks for that. */
export async function nextDown(link: Link, kind: string, milliseconds = answered) {
  const packet = await link.next("publish", milliseconds, ({ topic }) => topic.endsWith(`/down/${kind}`));
  if (packet !== null && packet.id !== null) link.send(pubackPacket(packet.id));
  return packet;
}
