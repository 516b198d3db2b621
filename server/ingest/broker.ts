import { setImmediate as nextTurn } from "node:timers/promises";
import { Aedes } from "aedes";
import type { UnitSerial } from "../domain/ids.ts";
import type { Services } from "../services.ts";
import type { AnswerRenewal } from "./answers.ts";
import { Doorkeeper } from "./doorkeeper.ts";
import { type IngestCounters, newCounters } from "./ingest-counters.ts";
import { Intake } from "./intake.ts";
import { renderMetrics } from "./metrics.ts";
import { Sessions } from "./sessions.ts";
import { type BrokerCredentials, listenForUnits } from "./tls-listener.ts";

export interface BrokerOptions {
  readonly services: Services;
  readonly credentials: BrokerCredentials;
  /** 0: any free one. */
  readonly port: number;
  readonly host?: string;
  /** After each commit, with the units whose record may have grown. */
  readonly onCommitted: (units: readonly UnitSerial[]) => void;
  /** Without it no unit gets a new certificate over its connection. */
  readonly answerRenewal?: AnswerRenewal;
}

export interface RunningBroker {
  readonly port: number;
  connectedUnits(): UnitSerial[];
  counters(): Readonly<IngestCounters>;
  /** Queues, times and refusals as text for a scraper. */
  metrics(): string;
  /** Takes no new work, commits and acknowledges what has come in, closes every socket. */
  stop(): Promise<void>;
}

/** The broker the units talk to: MQTT 3.1.1 on TLS, each with its own certificate, each on its own topics. A message is
 *  acknowledged after the commit that holds it, and a receipt follows that lets the unit forget it. */
export async function startBroker(options: BrokerOptions): Promise<RunningBroker> {
  const { services, onCommitted, answerRenewal = async () => {} } = options;
  const counters = newCounters();
  const sessions = new Sessions(services);
  const intake = new Intake({ services, sessions, counters, onCommitted, answerRenewal });
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
  return {
    port: listener.port,
    connectedUnits: () => sessions.units(),
    counters: () => ({ ...counters }),
    metrics: () =>
      renderMetrics({
        counters,
        connected: sessions.units().length,
        waiting: intake.waiting,
        waitingBytes: intake.waiting.bytes,
        flow: intake.flow.figures(),
        ackTimes: intake.ackTimes,
      }),
    stop: async () => {
      sessions.stop();
      await intake.stop();
      // The acknowledgements just given are written in this turn.
      await nextTurn();
      await new Promise<void>((closed) => aedes.close(closed));
      await listener.close();
    },
  };
}
