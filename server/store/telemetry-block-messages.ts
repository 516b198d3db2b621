import type { Minutes } from "../../firmware-protocol/src/messages.ts";
import type { BlockName, OpenBlock, PackedMessage } from "./telemetry-block.ts";
import { minuteAt } from "./telemetry-minute-columns.ts";

/** The messages one by one, for packing them again and for their bytes. */
export function messagesIn(block: OpenBlock, name: BlockName): PackedMessage[] {
  const messages: PackedMessage[] = [];
  let minute = 0;
  let raw = 0;
  for (let at = 0; at < block.sequence.length; at++) {
    const message = messageAt(block, name, { at, minute, raw });
    if (message !== undefined) messages.push(message);
    const count = block.minutes[at] ?? 0;
    if (count === 0) raw++;
    minute += count;
  }
  return messages;
}

/** The message at one place alone. */
export function messageOf(block: OpenBlock, name: BlockName, at: number): PackedMessage | null {
  let minute = 0;
  let raw = 0;
  for (let before = 0; before < at; before++) {
    const count = block.minutes[before] ?? 0;
    if (count === 0) raw++;
    minute += count;
  }
  return messageAt(block, name, { at, minute, raw }) ?? null;
}

/** @param place of the message, of its first minute among all and of its bytes among those kept */
function messageAt(
  block: OpenBlock,
  { unit, boot }: BlockName,
  { at, minute, raw }: { readonly at: number; readonly minute: number; readonly raw: number },
): PackedMessage | undefined {
  const sequence = block.sequence[at] ?? 0;
  const times = { receivedAt: block.receivedAt[at] ?? 0, bootedAt: block.bootedAt[at] ?? 0 };
  const count = block.minutes[at] ?? 0;
  if (count === 0) {
    const bytes = block.raw.at(raw);
    return bytes && { sequence, ...times, body: { kind: "raw", ...bytes } };
  }
  const wall = block.wallSeconds[at] ?? Number.NaN;
  const message: Minutes = {
    kind: "minutes",
    unit,
    boot,
    sequence,
    uptimeSeconds: block.uptimeSeconds[at] ?? 0,
    wallSeconds: Number.isNaN(wall) ? null : wall,
    firstUptimeSeconds: block.firstUptimeSeconds[at] ?? 0,
    minutes: Array.from({ length: count }, (_, index) => minuteAt(block.columns, minute + index)),
  };
  return { sequence, ...times, body: { kind: "minutes", message } };
}
