/** The control packets of MQTT 3.1.1 (OASIS Standard, 29 October 2014, section 3), written by hand: a runner that is to
 *  find what libraries hide must be able to send what no library would. */
export const packetType = {
  connect: 1,
  connack: 2,
  publish: 3,
  puback: 4,
  pubrec: 5,
  pubrel: 6,
  pubcomp: 7,
  subscribe: 8,
  suback: 9,
  unsubscribe: 10,
  unsuback: 11,
  pingreq: 12,
  pingresp: 13,
  disconnect: 14,
} as const;

const uint16 = (value: number): Buffer => Buffer.of((value >> 8) & 0xff, value & 0xff);
const text = (value: string): Buffer => {
  const bytes = Buffer.from(value);
  return Buffer.concat([uint16(bytes.length), bytes]);
};

/** Section 2.2.3. */
export function remainingLength(length: number): Buffer {
  const bytes: number[] = [];
  let left = length;
  do {
    const digit = left % 128;
    left = Math.floor(left / 128);
    bytes.push(left > 0 ? digit | 0x80 : digit);
  } while (left > 0);
  return Buffer.from(bytes);
}

/** @param flags the low four bits of the first byte */
export function packet(type: number, flags: number, ...body: readonly Uint8Array[]): Buffer {
  const bytes = Buffer.concat(body);
  return Buffer.concat([Buffer.of((type << 4) | flags), remainingLength(bytes.length), bytes]);
}

export interface ConnectOptions {
  readonly clientId: string;
  readonly cleanSession?: boolean;
  readonly keepAliveSeconds?: number;
  readonly protocolName?: string;
  readonly protocolLevel?: number;
  /** Or-ed to the connect flags, to break a rule. */
  readonly extraFlags?: number;
  readonly will?: { readonly topic: string; readonly payload: Uint8Array; readonly retain?: boolean };
}

export function connectPacket(options: ConnectOptions): Buffer {
  const { clientId, cleanSession = true, keepAliveSeconds = 60, will } = options;
  const willFlags = will === undefined ? 0 : 0x04 | 0x08 | (will.retain ? 0x20 : 0);
  const flags = (cleanSession ? 0x02 : 0) | willFlags | (options.extraFlags ?? 0);
  return packet(
    packetType.connect,
    0,
    text(options.protocolName ?? "MQTT"),
    Buffer.of(options.protocolLevel ?? 4, flags),
    uint16(keepAliveSeconds),
    text(clientId),
    ...(will === undefined ? [] : [text(will.topic), uint16(will.payload.length), will.payload]),
  );
}

export interface PublishOptions {
  readonly topic: string;
  readonly payload: Uint8Array;
  readonly qos: 0 | 1 | 2;
  /** From QoS 1 on. */
  readonly id?: number;
  readonly dup?: boolean;
  readonly retain?: boolean;
}

export function publishPacket({ topic, payload, qos, id, dup, retain }: PublishOptions): Buffer {
  const flags = (dup ? 8 : 0) | (qos << 1) | (retain ? 1 : 0);
  return packet(packetType.publish, flags, text(topic), ...(qos === 0 ? [] : [uint16(id ?? 0)]), payload);
}

export const subscribePacket = (id: number, filters: readonly (readonly [string, number])[]): Buffer =>
  packet(
    packetType.subscribe,
    2,
    uint16(id),
    ...filters.flatMap(([filter, qos]) => [text(filter), Buffer.of(qos)]),
  );

export const unsubscribePacket = (id: number, filters: readonly string[]): Buffer =>
  packet(packetType.unsubscribe, 2, uint16(id), ...filters.map(text));

export const connackPacket = (sessionPresent: boolean, code: number): Buffer =>
  packet(packetType.connack, 0, Buffer.of(sessionPresent ? 1 : 0, code));
export const pubackPacket = (id: number): Buffer => packet(packetType.puback, 0, uint16(id));
export const pubrelPacket = (id: number): Buffer => packet(packetType.pubrel, 2, uint16(id));
export const subackPacket = (id: number, granted: readonly number[]): Buffer =>
  packet(packetType.suback, 0, uint16(id), Buffer.from(granted));
export const unsubackPacket = (id: number): Buffer => packet(packetType.unsuback, 0, uint16(id));
export const pingreqPacket = packet(packetType.pingreq, 0);
export const pingrespPacket = packet(packetType.pingresp, 0);
export const disconnectPacket = packet(packetType.disconnect, 0);
