import { isIP } from "node:net";
import { type ConnectionOptions, connect, type TLSSocket } from "node:tls";
import { Link } from "../mqtt/link.ts";
import { type ConnectOptions, connectPacket } from "../mqtt/packets.ts";
import type { Identity } from "./identity.ts";

export const patience = 10_000;

export type Dialled =
  | { readonly kind: "open"; readonly socket: TLSSocket; readonly link: Link }
  | { readonly kind: "failed"; readonly reason: string };

/** A TLS connection as this unit, with what is to be different. */
export function dial(identity: Identity, changes: ConnectionOptions = {}): Promise<Dialled> {
  const { host, port, key, certificateChain, authority } = identity;
  return new Promise((resolve) => {
    const socket = connect({
      host,
      port,
      key,
      cert: certificateChain,
      ...(authority === null ? {} : { ca: authority }),
      ...(isIP(host) === 0 ? { servername: host } : {}),
      minVersion: "TLSv1.2",
      timeout: patience,
      ...changes,
    });
    const failed = (error: Error): void => resolve({ kind: "failed", reason: error.message });
    socket.once("error", failed);
    socket.once("timeout", () => {
      if (socket.connecting) socket.destroy(new Error("no answer in 10 s"));
    });
    socket.once("secureConnect", () => {
      socket.off("error", failed);
      socket.setNoDelay(true);
      socket.setTimeout(0);
      resolve({ kind: "open", socket, link: new Link(socket) });
    });
  });
}

/** Whether the server lets somebody in who connects so.
 *  @returns how it kept them out, or null where it let them in */
export async function keptOut(
  identity: Identity,
  tls: ConnectionOptions,
  mqtt: Partial<ConnectOptions> = {},
): Promise<string | null> {
  const dialled = await dial(identity, tls);
  if (dialled.kind === "failed") return `TLS failed (${dialled.reason})`;
  const { link } = dialled;
  link.send(connectPacket({ clientId: identity.unit, ...mqtt }));
  const connack = await link.next("connack", patience);
  const closed = link.isClosed;
  link.cut();
  if (connack === null) return closed ? "the connection was closed" : "no CONNACK came";
  return connack.code === 0 ? null : `CONNACK ${connack.code}`;
}
