import type { PeerCertificate, TLSSocket } from "node:tls";
import type { Aedes, AedesOptions, Client } from "aedes";
import { maximumUplinkBytes } from "../../firmware-protocol/src/limits.ts";
import { certificateUsed } from "../programme/renew-certificates.ts";
import type { Services } from "../services.ts";
import { type Device, type DeviceRefusal, deviceOf } from "./device-auth.ts";
import { kindsAskedFor } from "./down-filter.ts";
import type { UnitFlow } from "./flow-control.ts";
import type { IngestCounters } from "./ingest-counters.ts";
import type { Intake } from "./intake.ts";
import { limitPackets } from "./packet-limit.ts";
import { ReadGate } from "./read-gate.ts";
import type { Sessions } from "./sessions.ts";
import type { UnitLine } from "./unit-line.ts";
import { UnitSession } from "./unit-session.ts";

export interface DoorkeeperOptions {
  readonly services: Services;
  readonly sessions: Sessions;
  readonly counters: IngestCounters;
  readonly intake: Intake;
}

/** Topic and packet header around the largest payload. */
const largestPacket = maximumUplinkBytes + 1_024;
const connectMilliseconds = 10_000;
const mostUnfinishedQos2 = 16;
/** MQTT 3.1.1 table 3.1. */
const notAuthorized = 5;

/** Tells the broker library who may connect, publish and subscribe. All that depends on the library is here, in the
 *  sessions and in `broker.ts`. */
export class Doorkeeper {
  readonly #options: DoorkeeperOptions;
  readonly #peers = new WeakMap<object, Pick<PeerCertificate, "serialNumber" | "subject">>();
  readonly #flows = new WeakMap<object, UnitFlow>();
  readonly #devices = new WeakMap<Client, Device>();
  readonly #sessionOf = new WeakMap<Client, UnitSession>();

  constructor(options: DoorkeeperOptions) {
    this.#options = options;
  }

  connected(socket: TLSSocket, peer: PeerCertificate): void {
    // No more of the certificate than is asked for: the whole of it, for thousands of units, is memory.
    const { serialNumber, subject } = peer;
    this.#peers.set(socket, { serialNumber, subject });
    const unit = subject?.CN;
    limitPackets(socket, largestPacket, (refusal) => {
      if (refusal === "too-large") this.#options.counters.tooLarge += 1;
      else this.#options.counters.refusedConnections += 1;
      this.#options.services.log.warn({ unit, refusal }, "connection dropped");
    });
    const { flow } = this.#options.intake;
    const unitFlow = flow.open(new ReadGate(socket));
    this.#flows.set(socket, unitFlow);
    socket.once("close", () => flow.ended(unitFlow));
  }

  refusedAtTls(error: Error): void {
    this.#options.counters.refusedConnections += 1;
    this.#options.services.log.info({ reason: error.message }, "connection refused by TLS");
  }

  rules(): AedesOptions {
    return {
      connectTimeout: connectMilliseconds,
      maxInflightInbound: mostUnfinishedQos2,
      preConnect: (_client, packet, done) => {
        // Nothing is kept for a unit that is away: receipts and the plan are sent anew when it subscribes. Session
        // present stays 0, which tells a client that asked for more to subscribe again.
        packet.clean = true;
        done(null, true);
      },
      authenticate: (client, _username, _password, done) => {
        const refusal = this.#admit(client);
        if (refusal === null) done(null, true);
        else done(Object.assign(new Error(refusal), { returnCode: notAuthorized }), false);
      },
      authorizeSubscribe: (client, subscription, done) => {
        const device = this.#devices.get(client);
        const granted = device !== undefined && kindsAskedFor(device.unit, subscription.topic).length > 0;
        if (!granted) this.#options.counters.refusedSubscriptions += 1;
        done(null, granted ? subscription : null);
      },
      // The only place that can hold back a PUBACK: the library writes it as soon as this calls back, and drops the
      // connection when this calls back with an error.
      authorizePublish: (client, packet, done) => {
        const device = client === null ? undefined : this.#devices.get(client);
        if (device === undefined) return done(new Error("not signed in"));
        packet.retain = false;
        const flow = client === null ? null : (this.#flows.get(client.conn) ?? null);
        return this.#options.intake.take(device.unit, packet.topic, Buffer.from(packet.payload), done, flow);
      },
    };
  }

  follow(aedes: Aedes): void {
    const { services, sessions } = this.#options;
    /** An event's handler must not throw: nobody would catch it. The unit comes again, and so does what was to be done. */
    const safely = (client: Client, act: () => void): void => {
      try {
        act();
      } catch (error) {
        services.log.error({ err: error, client: client.id }, "connection dropped: a fault on our side");
        client.close();
      }
    };
    aedes.on("client", (client) => {
      const device = this.#devices.get(client);
      if (device === undefined) return;
      const session = new UnitSession(services, device.unit, lineTo(client), device.certificate);
      this.#sessionOf.set(client, session);
      sessions.open(session);
      safely(client, () => certificateUsed(services, device.unit, device.certificate));
    });
    aedes.on("clientDisconnect", (client) => {
      const session = this.#sessionOf.get(client);
      if (session !== undefined) sessions.ended(session);
    });
    aedes.on("subscribe", (subscriptions, client) => {
      // 128 marks the ones that were refused.
      for (const { topic, qos } of subscriptions) {
        if (qos <= 2) safely(client, () => this.#sessionOf.get(client)?.subscribed(topic, qos));
      }
    });
    aedes.on("unsubscribe", (topics, client) => {
      for (const topic of topics) this.#sessionOf.get(client)?.unsubscribed(topic);
    });
    aedes.on("ack", (_packet, client) => safely(client, () => this.#sessionOf.get(client)?.acknowledged()));
    const note = (client: Client, error: Error): void => {
      services.log.debug({ client: client.id, reason: error.message }, "connection ended with an error");
    };
    aedes.on("clientError", note);
    aedes.on("connectionError", note);
  }

  #admit(client: Client): DeviceRefusal | "client-id-is-not-the-unit" | null {
    const { services, counters } = this.#options;
    const device = deviceOf(services.db, this.#peers.get(client.conn) ?? null, services.clock.now());
    if (typeof device !== "string" && client.id === device.unit) {
      this.#devices.set(client, device);
      return null;
    }
    const refusal = typeof device === "string" ? device : "client-id-is-not-the-unit";
    counters.refusedConnections += 1;
    services.log.info({ client: client.id, refusal }, "connection refused");
    return refusal;
  }
}

function lineTo(client: Client): UnitLine {
  return {
    get closed() {
      return client.closed;
    },
    publish: (_kind, message, written) =>
      client.publish({ cmd: "publish", ...message, retain: false, dup: false }, written),
    close: () => client.close(),
  };
}
