import { connect } from "mqtt";
import type { RunningBroker } from "./broker.ts";
import { senderNamedBy, uplinkOfAll } from "./front-topics.ts";
import { FrontUnits } from "./front-units.ts";
import type { BrokerCredentials } from "./tls-listener.ts";
import { openWayIn, type WayInOptions } from "./way-in.ts";

export interface FrontOptions extends WayInOptions {
  /** Of the broker in front. */
  readonly host: string;
  readonly port: number;
  /** What we show to it, and what it must lead to, PEM. */
  readonly credentials: BrokerCredentials;
  /** The user name that our certificate names. */
  readonly name: string;
}

/** Above this we stop reading, and the broker in front has to wait. */
const mostWaitingBytes = 16 * 1024 * 1024;
const lookAgainMilliseconds = 25;
const reconnectMilliseconds = 1_000;

/** Takes messages from any standard broker that stands in front of us and talks to the units in our place. It
 *  acknowledges before we have stored anything, and so do we towards it: neither lets a unit forget. The receipt after
 *  our commit does, and what has none comes again (FP-6.5, FP-6.7). For the same reason we ask it to keep nothing for us
 *  while we are away: it would hand us every resend of every unit. */
export function subscribeToFront(options: FrontOptions): RunningBroker {
  const { services, credentials, host, port } = options;
  const wayIn = openWayIn(options);
  const { counters, sessions, intake } = wayIn;
  const client = connect({
    protocol: "mqtts",
    host,
    port,
    key: credentials.key,
    cert: credentials.certificate,
    ca: credentials.authority,
    clientId: options.name,
    protocolVersion: 4,
    clean: true,
    resubscribe: false,
    reconnectPeriod: reconnectMilliseconds,
    queueQoSZero: false,
  });
  const units = new FrontUnits(services, sessions, client);
  let isSubscribed = false;

  client.on("connect", () => {
    client.subscribe(uplinkOfAll, { qos: 1 }, (error, granted) => {
      isSubscribed = error === null && (granted?.every(({ qos }) => qos === 1) ?? false);
      if (!isSubscribed) {
        services.log.error(
          { host, port },
          "the broker in front does not let us hear the units: check its rules",
        );
        return;
      }
      services.log.info({ host, port }, "listening to the units behind the broker in front");
      units.tellAll();
    });
  });
  client.on("close", () => {
    if (isSubscribed)
      services.log.warn({ host, port }, "the broker in front is gone; units keep what they record");
    isSubscribed = false;
  });
  client.on("error", (error) => {
    counters.refusedConnections += 1;
    services.log.warn({ host, port, reason: error.message }, "the broker in front can't be reached");
  });
  client.handleMessage = (packet, done) => {
    const unit = senderNamedBy(packet.topic);
    if (unit === null || !units.heard(unit)) counters.refusedPublishes += 1;
    else intake.take(unit, packet.topic, Buffer.from(packet.payload), () => {});
    whenThereIsRoom(done);
  };

  function whenThereIsRoom(done: () => void): void {
    if (intake.waiting.bytes < mostWaitingBytes) done();
    else setTimeout(() => whenThereIsRoom(done), lookAgainMilliseconds);
  }

  return {
    port,
    isReachable: () => isSubscribed,
    connectedUnits: () => sessions.units(),
    counters: () => ({ ...counters }),
    metrics: () => wayIn.metrics(),
    show: ({ key, certificate, authority }) => {
      Object.assign(client.options, { key, cert: certificate, ca: authority });
    },
    stop: async () => {
      client.handleMessage = (_packet, done) => done();
      if (client.connected) await client.unsubscribeAsync(uplinkOfAll).catch(() => undefined);
      await wayIn.close();
      await client.endAsync();
    },
  };
}
