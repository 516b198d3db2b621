import type { DownlinkKind } from "../../firmware-protocol/src/downlink.ts";

export interface LineMessage {
  readonly topic: string;
  readonly payload: Buffer;
  readonly qos: 0 | 1;
}

/** How messages reach one unit: its own connection with our broker, or a standard broker that stands in front. */
export interface UnitLine {
  readonly closed: boolean;
  /** @param written called once the message has been handed over, or can't be any more */
  publish(kind: DownlinkKind, message: LineMessage, written: () => void): void;
  /** Ends the unit's connection where it is ours to end. */
  close(): void;
}
