import type { Duplex } from "node:stream";
import { Mailbox } from "../mailbox.ts";
import { type PacketHeard, PacketReader } from "./packet-reader.ts";

type Of<Type extends PacketHeard["type"]> = PacketHeard & { readonly type: Type };

/** One connection, packet by packet. What was heard stays until somebody takes it. */
export class Link {
  readonly #stream: Duplex;
  readonly #heard = new Mailbox<PacketHeard>();

  constructor(stream: Duplex) {
    this.#stream = stream;
    const reader = new PacketReader((packet) => this.#heard.put(packet));
    stream.on("data", (chunk: Buffer) => {
      try {
        reader.read(chunk);
      } catch {
        // A packet shorter than its own fields: nothing after it can be told apart.
        stream.destroy();
      }
    });
    stream.on("error", () => undefined);
    stream.on("close", () => this.#heard.end());
  }

  get isClosed(): boolean {
    return this.#heard.hasEnded;
  }

  send(...packets: readonly Uint8Array[]): void {
    if (!this.isClosed && this.#stream.writable) this.#stream.write(Buffer.concat(packets));
  }

  /** Takes the first packet, heard already or yet to come, that is of this type and wanted.
   *  @returns null where none comes in time, or the connection ends first */
  next<Type extends PacketHeard["type"]>(
    type: Type,
    milliseconds: number,
    wanted: (packet: Of<Type>) => boolean = () => true,
  ): Promise<Of<Type> | null> {
    const isOf = (packet: PacketHeard): packet is Of<Type> => packet.type === type;
    return this.#heard.take(milliseconds, (packet): packet is Of<Type> => isOf(packet) && wanted(packet));
  }

  /** @returns whether the connection has ended in this time */
  async closedWithin(milliseconds: number): Promise<boolean> {
    await this.#heard.until(milliseconds, () => null);
    return this.isClosed;
  }

  /** Without a DISCONNECT: as a relay that went away. */
  cut(): void {
    this.#stream.destroy();
  }
}
