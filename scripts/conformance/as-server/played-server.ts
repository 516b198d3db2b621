import { X509Certificate } from "node:crypto";
import { once } from "node:events";
import { createServer, type Server, type TLSSocket } from "node:tls";
import type { Certified, RunAuthority } from "../authority.ts";
import { Mailbox } from "../mailbox.ts";
import { Link } from "../mqtt/link.ts";
import { connackPacket } from "../mqtt/packets.ts";
import { Visit, type VisitRules } from "./visit.ts";

export interface PlayedServerOptions {
  readonly unit: string;
  readonly host: string;
  /** 0: any free one. */
  readonly port: number;
  readonly authority: RunAuthority;
  readonly rules: VisitRules;
}

/** What became of a connection that was not let in. */
export type TurnedAway = "tls-failed" | "spoke-on" | "certificate-refused";

const notAuthorized = 5;
const connectMilliseconds = 10_000;
const goingOn = 2_000;

/** The broker that the runner plays. */
export class PlayedServer {
  readonly #options: PlayedServerOptions;
  readonly #server: Server;
  readonly #visits = new Mailbox<Visit>();
  readonly #turnedAway = new Mailbox<TurnedAway>();
  readonly #refused = new Set<string>();
  readonly #open = new Set<TLSSocket>();
  #impostor = false;
  #current: Visit | null = null;

  private constructor(options: PlayedServerOptions, broker: Certified) {
    this.#options = options;
    this.#server = createServer(
      {
        key: broker.key,
        cert: broker.certificate,
        ca: options.authority.pem,
        requestCert: true,
        rejectUnauthorized: true,
        minVersion: "TLSv1.2",
      },
      (socket) => void this.#receive(socket),
    );
    this.#server.on("tlsClientError", () => this.#turnedAway.put("tls-failed"));
  }

  static async start(options: PlayedServerOptions): Promise<PlayedServer> {
    const played = new PlayedServer(options, await options.authority.broker(options.host));
    played.#server.listen(options.port, "0.0.0.0");
    await once(played.#server, "listening");
    return played;
  }

  get port(): number {
    const address = this.#server.address();
    if (address === null || typeof address === "string") throw new Error("the played broker has no port");
    return address.port;
  }

  /** @returns null where the unit does not come in time */
  visit(milliseconds: number): Promise<Visit | null> {
    return this.#visits.take(milliseconds, (visit): visit is Visit => visit.isOpen);
  }

  turnedAway(milliseconds: number): Promise<TurnedAway | null> {
    return this.#turnedAway.take(milliseconds, (_): _ is TurnedAway => true);
  }

  /** From now on it shows a certificate that a unit must not trust. */
  pretend(broker: Certified): void {
    this.#impostor = true;
    this.#show(broker);
  }

  async beItself(): Promise<void> {
    this.#impostor = false;
    this.#show(await this.#options.authority.broker(this.#options.host));
  }

  /** Refuses whoever comes with this certificate (PEM). */
  refuse(certificate: string): void {
    this.#refused.add(new X509Certificate(certificate).fingerprint256);
  }

  async stop(): Promise<void> {
    this.#server.close();
    for (const socket of this.#open) socket.destroy();
    await new Promise((closed) => this.#server.once("close", closed));
  }

  #show({ key, certificate }: Certified): void {
    const ca = this.#options.authority.pem;
    this.#server.setSecureContext({ key, cert: certificate, ca, minVersion: "TLSv1.2" });
  }

  async #receive(socket: TLSSocket): Promise<void> {
    this.#open.add(socket);
    socket.once("close", () => this.#open.delete(socket));
    const link = new Link(socket);
    const { fingerprint256 } = socket.getPeerCertificate();
    const connect = await link.next("connect", connectMilliseconds);
    if (connect === null || this.#impostor) {
      this.#turnedAway.put(connect !== null && (await speaksOn(link)) ? "spoke-on" : "tls-failed");
      link.cut();
      return;
    }
    if (this.#refused.has(fingerprint256)) {
      link.send(connackPacket(false, notAuthorized));
      this.#turnedAway.put("certificate-refused");
      setTimeout(() => link.cut(), 200);
      return;
    }
    // The same client id again: the connection before ends (MQTT 3.1.1, MQTT-3.1.4-2).
    this.#current?.cut();
    this.#current = new Visit(link, connect, socket, this.#options.unit, this.#options.rules);
    this.#visits.put(this.#current);
  }
}

/** TLS libraries may let a CONNECT out with the last packet of the handshake, before the program has seen the
 *  certificate. What counts is whether the unit goes on after it has. */
async function speaksOn(link: Link): Promise<boolean> {
  link.send(connackPacket(false, 0));
  const said = await Promise.all([link.next("subscribe", goingOn), link.next("publish", goingOn)]);
  return said.some((packet) => packet !== null);
}
