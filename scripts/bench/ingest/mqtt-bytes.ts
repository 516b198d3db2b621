/** The few packets of MQTT 3.1.1 that a unit sends (section 3 of the standard), written by hand so that a load of
 *  thousands of units costs little beside the server that is measured. */
const text = (value: string): Buffer => {
  const bytes = Buffer.from(value);
  return Buffer.concat([Buffer.of(bytes.length >> 8, bytes.length & 0xff), bytes]);
};

function packet(first: number, body: Buffer): Buffer {
  const length: number[] = [];
  let left = body.length;
  do {
    const more = left > 127 ? 0x80 : 0;
    length.push((left & 0x7f) | more);
    left >>= 7;
  } while (left > 0);
  return Buffer.concat([Buffer.of(first, ...length), body]);
}

const cleanSession = 0x02;
export const connectPacket = (clientId: string, keepAliveSeconds: number): Buffer =>
  packet(
    0x10,
    Buffer.concat([
      text("MQTT"),
      Buffer.of(4, cleanSession, keepAliveSeconds >> 8, keepAliveSeconds & 0xff),
      text(clientId),
    ]),
  );

export const subscribePacket = (filter: string): Buffer =>
  packet(0x82, Buffer.concat([Buffer.of(0, 1), text(filter), Buffer.of(0)]));

/** QoS 1. */
export const publishPacket = (topic: string, packetId: number, payload: Uint8Array): Buffer =>
  packet(0x32, Buffer.concat([text(topic), Buffer.of(packetId >> 8, packetId & 0xff), payload]));

/** Cuts a stream into packets and tells of those that a unit waits for. */
export class PacketReader {
  readonly #connected: () => void;
  readonly #acknowledged: (packetId: number) => void;
  #rest: Buffer = Buffer.alloc(0);

  constructor(connected: () => void, acknowledged: (packetId: number) => void) {
    this.#connected = connected;
    this.#acknowledged = acknowledged;
  }

  read(chunk: Buffer): void {
    const bytes = this.#rest.length === 0 ? chunk : Buffer.concat([this.#rest, chunk]);
    let at = 0;
    for (;;) {
      let length = 0;
      let shift = 0;
      let head = at + 1;
      let byte = 0x80;
      while (head < bytes.length && byte & 0x80) {
        byte = bytes[head++] ?? 0;
        length += (byte & 0x7f) << shift;
        shift += 7;
      }
      if (byte & 0x80 || head + length > bytes.length) break;
      const kind = (bytes[at] ?? 0) >> 4;
      if (kind === 2 && bytes[head + 1] === 0) this.#connected();
      if (kind === 4) this.#acknowledged(bytes.readUInt16BE(head));
      at = head + length;
    }
    this.#rest = bytes.subarray(at);
  }
}
