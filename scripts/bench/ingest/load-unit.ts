import { connect, type SecureContext, type TLSSocket } from "node:tls";
import { downlinkFilter } from "../../../firmware-protocol/src/topics.ts";
import type { UnitSerial } from "../../../server/domain/ids.ts";
import type { Prepared } from "./load-messages.ts";
import { connectPacket, PacketReader, subscribePacket } from "./mqtt-bytes.ts";

const keepAliveSeconds = 600;

/** One unit's connection: publishes at QoS 1, hears its receipts, and times each acknowledgement. */
export class LoadUnit {
  readonly unit: UnitSerial;
  readonly #socket: TLSSocket;
  readonly #sentAt = new Map<number, number>();
  #times: number[] = [];
  #answered: () => void = () => {};
  isGone = false;

  static async connect(options: {
    readonly port: number;
    readonly secureContext: SecureContext;
    readonly unit: UnitSerial;
  }): Promise<LoadUnit> {
    const { port, secureContext, unit } = options;
    const socket = connect({ host: "127.0.0.1", port, secureContext });
    return await new Promise<LoadUnit>((resolve, reject) => {
      const made = new LoadUnit(unit, socket, () => {
        socket.write(subscribePacket(downlinkFilter(unit)));
        resolve(made);
      });
      socket.once("secureConnect", () => socket.write(connectPacket(unit, keepAliveSeconds)));
      socket.once("error", reject);
      socket.once("close", () => reject(new Error(`${unit}: closed`)));
    });
  }

  constructor(unit: UnitSerial, socket: TLSSocket, connected: () => void) {
    this.unit = unit;
    this.#socket = socket;
    socket.setNoDelay(true);
    const reader = new PacketReader(connected, (packetId) => this.#acknowledged(packetId));
    socket.on("data", (chunk: Buffer) => reader.read(chunk));
    socket.on("error", () => {});
    socket.on("close", () => {
      this.isGone = true;
      this.#answered();
    });
  }

  get ackMilliseconds(): readonly number[] {
    return this.#times;
  }

  get unanswered(): number {
    return this.isGone ? 0 : this.#sentAt.size;
  }

  startMeasuring(): void {
    this.#times = [];
    this.#sentAt.clear();
  }

  send({ packetId, packet }: Prepared): void {
    if (this.isGone) return;
    this.#sentAt.set(packetId, performance.now());
    this.#socket.write(packet);
  }

  /** Keeps so many on the way until all are acknowledged, or the connection is gone. */
  sendAll(messages: readonly Prepared[], inFlight: number): Promise<void> {
    return new Promise((resolve) => {
      let next = 0;
      const more = (): void => {
        while (next < messages.length && this.#sentAt.size < inFlight && !this.isGone) {
          const message = messages[next++];
          if (message !== undefined) this.send(message);
        }
        if (this.isGone || (next === messages.length && this.#sentAt.size === 0)) resolve();
      };
      this.#answered = more;
      more();
    });
  }

  hangUp(): void {
    this.#socket.destroy();
  }

  #acknowledged(packetId: number): void {
    const at = this.#sentAt.get(packetId);
    if (at === undefined) return;
    this.#sentAt.delete(packetId);
    this.#times.push(performance.now() - at);
    this.#answered();
  }
}
