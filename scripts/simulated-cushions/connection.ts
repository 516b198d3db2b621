import { isIPv6, Socket } from "node:net";
import { connectAsync, type MqttClient } from "mqtt";
import { decodeDownlink } from "../../firmware-protocol/src/decode.ts";
import type { DownlinkMessage } from "../../firmware-protocol/src/downlink.ts";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import type { UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import { downlinkFilter, downlinkTopic, uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import {
  readUnreadableCommand,
  type UnreadableCommand,
} from "../../firmware-protocol/src/unreadable-command.ts";
import type { Enrolled } from "./enrol.ts";

export interface ConnectionOptions {
  readonly onMessage: (message: DownlinkMessage) => void;
  readonly onUnreadableCommand: (command: UnreadableCommand) => void;
  /** No plan is in force any more [FP-7.8]. */
  readonly onNoPlan: () => void;
  readonly connectSeconds: number;
}

/** One unit's session with the broker: MQTT 3.1.1 over TLS with the unit's own certificate. */
export class CushionConnection {
  readonly #client: MqttClient;
  readonly #unit: string;
  /** Rejects when the session ends: the library would keep a publish for a reconnection that it is not to make. */
  readonly #ended: Promise<never>;

  private constructor(client: MqttClient, unit: string) {
    this.#client = client;
    this.#unit = unit;
    this.#ended = new Promise((_, reject) =>
      client.once("close", () => reject(new Error("the connection ended"))),
    );
    this.#ended.catch(() => undefined);
  }

  /** @throws when the broker can't be reached, isn't the one the authority vouches for, or refuses the certificate */
  static async open(enrolled: Enrolled, options: ConnectionOptions): Promise<CushionConnection> {
    const { host, port } = enrolled.broker;
    const client = await connectAsync(
      `mqtts://${isIPv6(host) ? `[${host}]` : host}:${port}`,
      {
        ca: enrolled.authority,
        cert: enrolled.certificateChain,
        key: enrolled.privateKey,
        clientId: enrolled.unit,
        protocolVersion: 4,
        clean: true,
        // Reconnecting is the unit's own decision: it knows whether there is a relay to talk to.
        reconnectPeriod: 0,
        connectTimeout: options.connectSeconds * 1_000,
        keepalive: 60,
        queueQoSZero: false,
      },
      // One that hangs up without a word must not be waited for.
      false,
    );
    client.on("error", () => undefined);
    // A message is small and its answer is waited for: holding it back to fill a packet would cost 40 ms each time.
    if (client.stream instanceof Socket) client.stream.setNoDelay(true);
    client.on("message", (topic, payload) => {
      if (payload.length === 0 && topic === downlinkTopic(enrolled.unit, "plan")) options.onNoPlan();
      const message = decodeDownlink(payload);
      if (message.kind !== "unreadable") return options.onMessage(message);
      const command =
        topic === downlinkTopic(enrolled.unit, "command") ? readUnreadableCommand(payload) : null;
      if (command !== null) options.onUnreadableCommand(command);
    });
    const connection = new CushionConnection(client, enrolled.unit);
    const subscribed = client.subscribeAsync(downlinkFilter(enrolled.unit), { qos: 1 });
    subscribed.catch(() => undefined);
    await Promise.race([subscribed, connection.#ended]);
    return connection;
  }

  get isOpen(): boolean {
    return this.#client.connected;
  }

  /** Publishes with QoS 1.
   *  @returns once the broker has acknowledged; @throws when the session ends first */
  async publish(message: UplinkMessage): Promise<void> {
    const payload = Buffer.from(encodeUplink(message));
    const published = this.#client.publishAsync(uplinkTopic(this.#unit, message.kind), payload, { qos: 1 });
    published.catch(() => undefined);
    await Promise.race([published, this.#ended]);
  }

  onClosed(listener: () => void): void {
    this.#client.on("close", listener);
  }

  async close(): Promise<void> {
    await this.#client.endAsync(true);
  }
}
