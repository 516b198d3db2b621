import { setImmediate as nextTurn } from "node:timers/promises";
import { Aedes } from "aedes";
import type { UnitSerial } from "../domain/ids.ts";
import { Doorkeeper } from "./doorkeeper.ts";
import type { IngestCounters } from "./ingest-counters.ts";
import { type BrokerCredentials, listenForUnits } from "./tls-listener.ts";
import { openWayIn, type WayInOptions } from "./way-in.ts";

export interface BrokerOptions extends WayInOptions {
  readonly credentials: BrokerCredentials;
  /** 0: any free one. */
  readonly port: number;
  readonly host?: string;
}

/** What carries messages between units and us. */
export interface RunningBroker {
  readonly port: number;
  /** Units can be heard at the moment. */
  isReachable(): boolean;
  connectedUnits(): UnitSerial[];
  counters(): Readonly<IngestCounters>;
  /** Queues, times and refusals as text for a scraper. */
  metrics(): string;
  /** What it shows to the other side of each connection opened from now on. */
  show(credentials: BrokerCredentials): void;
  /** Takes no new work, commits and acknowledges what has come in, closes every socket. */
  stop(): Promise<void>;
}

/** The broker the units talk to: MQTT 3.1.1 on TLS, each with its own certificate, each on its own topics. A message is
 *  acknowledged after the commit that holds it, and a receipt follows that lets the unit forget it. */
export async function startBroker(options: BrokerOptions): Promise<RunningBroker> {
  const { services } = options;
  const wayIn = openWayIn(options);
  const { counters, sessions, intake } = wayIn;
  const doorkeeper = new Doorkeeper({ services, sessions, counters, intake });
  const aedes = await Aedes.createBroker(doorkeeper.rules());
  doorkeeper.follow(aedes);
  const listener = await listenForUnits({
    credentials: options.credentials,
    port: options.port,
    ...(options.host === undefined ? {} : { host: options.host }),
    connected: (socket, peer) => {
      doorkeeper.connected(socket, peer);
      aedes.handle(socket);
    },
    refused: (error) => doorkeeper.refusedAtTls(error),
  });
  let listens = true;
  return {
    port: listener.port,
    isReachable: () => listens,
    connectedUnits: () => sessions.units(),
    counters: () => ({ ...counters }),
    metrics: () => wayIn.metrics(),
    show: (credentials) => listener.show(credentials),
    stop: async () => {
      listens = false;
      await wayIn.close();
      // The acknowledgements just given are written in this turn.
      await nextTurn();
      await new Promise<void>((closed) => aedes.close(closed));
      await listener.close();
    },
  };
}
