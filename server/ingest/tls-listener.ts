import { constants } from "node:crypto";
import { once } from "node:events";
import type { Socket } from "node:net";
import { createServer, type PeerCertificate, type SecureContextOptions, type TLSSocket } from "node:tls";

/** All PEM. */
export interface BrokerCredentials {
  readonly key: string;
  readonly certificate: string;
  /** The programme's root: the only one whose certificates are let in. */
  readonly authority: string;
}

export interface ListenerOptions {
  readonly credentials: BrokerCredentials;
  readonly port: number;
  readonly host?: string;
  /** The certificate leads to our authority and the other side has proved to hold its key. */
  connected(socket: TLSSocket, peer: PeerCertificate): void;
  /** No certificate, a foreign one, one that has run out, or no TLS at all. */
  refused(error: Error): void;
}

export interface Listener {
  readonly port: number;
  /** From the next handshake on; open connections go on with what they were opened with. */
  show(credentials: BrokerCredentials): void;
  /** Lets nobody else in; resolves when every socket is closed. */
  close(): Promise<void>;
}

const handshakeMilliseconds = 10_000;
const probeHalfOpenMilliseconds = 60_000;

const securedBy = ({ key, certificate, authority }: BrokerCredentials): SecureContextOptions => ({
  key,
  cert: certificate,
  ca: authority,
  minVersion: "TLSv1.2",
  // Without a ticket nothing of the handshake is kept: 12 kB less a connection, and each shows its certificate anew.
  secureOptions: constants.SSL_OP_NO_TICKET,
});

export async function listenForUnits(options: ListenerOptions): Promise<Listener> {
  const server = createServer(
    {
      ...securedBy(options.credentials),
      requestCert: true,
      rejectUnauthorized: true,
      handshakeTimeout: handshakeMilliseconds,
    },
    (socket) => {
      socket.setNoDelay(true);
      socket.setKeepAlive(true, probeHalfOpenMilliseconds);
      options.connected(socket, socket.getPeerCertificate());
    },
  );
  const open = new Set<Socket>();
  server.on("connection", (socket: Socket) => {
    open.add(socket);
    socket.once("close", () => open.delete(socket));
  });
  server.on("tlsClientError", (error, socket) => {
    options.refused(error);
    socket.destroy();
  });
  server.listen(options.port, options.host);
  await once(server, "listening");
  const address = server.address();
  if (address === null || typeof address === "string") throw new Error("the broker listens on no port");
  return {
    port: address.port,
    show: (credentials) => server.setSecureContext(securedBy(credentials)),
    close: async () => {
      const closed = once(server, "close");
      server.close();
      for (const socket of open) socket.destroy();
      await closed;
    },
  };
}
