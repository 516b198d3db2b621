import { decodeUplink } from "../../firmware-protocol/src/decode.ts";
import type { UnitSerial } from "../domain/ids.ts";
import { bodyOf, open, type PackedMessage } from "./telemetry-block.ts";
import { messagesIn } from "./telemetry-block-messages.ts";
import { areSame } from "./telemetry-block-same.ts";
import { writeSettled } from "./telemetry-received.ts";
import { uptimeSpanOf } from "./telemetry-record.ts";
import { type BlockPlace, blockOf } from "./telemetry-repack.ts";
import type { MessageRow } from "./telemetry-statements.ts";
import type { TelemetryTables } from "./telemetry-tables.ts";

const secondsInDay = 86_400;
/** A day of single minutes is 1,440 messages; more than this goes into a second part, so that no block grows beyond
 *  what is quickly opened. */
const mostMessages = 4_096;
const mostRawBytes = 1_048_576;

interface Fresh {
  readonly row: MessageRow;
  readonly message: PackedMessage;
}

/** Packs all of a unit's recent messages up to and with this row. Call it inside a transaction.
 *  @returns ids of the rows that are packed now, and may be deleted */
export function packUnit(tables: TelemetryTables, unit: UnitSerial, throughId: number): number[] {
  const days = new Map<string, Fresh[]>();
  const rows = tables.statements.toPack.all(unit, throughId);
  for (const row of rows) {
    const decoded = decodeUplink(row.payload);
    if (decoded.kind === "unreadable")
      throw new Error(`Stored message ${row.id} can no longer be read: ${decoded.reason}`);
    const bootedAt = row.startsAt - uptimeSpanOf(decoded).from * 1_000;
    const { sequence, receivedAt, boot } = row;
    const key = `${boot} ${Math.floor(decoded.uptimeSeconds / secondsInDay)}`;
    const fresh = { row, message: { sequence, receivedAt, bootedAt, body: bodyOf(row.payload) } };
    const ofDay = days.get(key);
    if (ofDay === undefined) days.set(key, [fresh]);
    else ofDay.push(fresh);
  }
  for (const [key, fresh] of days) {
    const [boot = 0, bootDay = 0] = key.split(" ").map(Number);
    packDay(tables, { unit, boot, bootDay }, fresh);
  }
  tables.recent.forgetPacked(unit);
  return rows.map(({ id }) => id);
}

/** Adds to the day's last block, or begins another where that is full: late messages open a packed day again. */
function packDay(
  tables: TelemetryTables,
  { unit, boot, bootDay }: Omit<BlockPlace, "part">,
  fresh: readonly Fresh[],
): void {
  const { blocks, statements } = tables;
  const last = blocks.ofBoot(unit, boot).findLast((head) => head.bootDay === bootDay);
  const before = last === undefined ? [] : blocks.messagesOf(last);
  const isFull = last !== undefined && !hasRoom(before);
  const part = (last?.part ?? 0) + (isFull ? 1 : 0);
  const joined = isFull || last === undefined ? null : last;
  let messages = [...(joined === null ? [] : before), ...fresh.map(({ message }) => message)];
  messages = messages.sort((a, b) => a.sequence - b.sequence);
  const ids = fresh.map(({ row }) => row.id);
  const block = blockOf({ unit, boot, bootDay, part }, messages, {
    first: Math.min(joined?.firstId ?? Number.POSITIVE_INFINITY, ...ids),
    last: Math.max(joined?.lastId ?? 0, ...ids),
  });
  // The rows are deleted on the strength of this; that the values stand for the very bytes was seen in `bodyOf`.
  if (!areSame(messagesIn(open(block.data, block.bootedAt), { unit, boot }), messages))
    throw new Error("a packed block doesn't give back what was put in");
  blocks.save(block);
  const named = fresh.map(({ row }) => ({ from: row.sequence, to: row.sequence }));
  writeSettled(statements, unit, boot, named);
}

function hasRoom(messages: readonly PackedMessage[]): boolean {
  if (messages.length >= mostMessages) return false;
  let bytes = 0;
  for (const { body } of messages) if (body.kind === "raw") bytes += body.payload.length;
  return bytes < mostRawBytes;
}
