import { decodeUplink } from "../../firmware-protocol/src/decode.ts";
import type { UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import type { UnitSerial } from "../domain/ids.ts";
import { type Instant, instant } from "../domain/units.ts";
import type { OpenBlock } from "./telemetry-block.ts";
import { columnsOf } from "./telemetry-minute-columns.ts";
import type { MinuteRun } from "./telemetry-minutes.ts";
import { placed } from "./telemetry-record.ts";
import type { MessageRow } from "./telemetry-statements.ts";
import type { TelemetryTables } from "./telemetry-tables.ts";

/** A stored message in its place: minutes as they lie in their columns, everything else decoded. */
export type Found = FoundMinutes | FoundMessage;

interface FoundMinutes extends MinuteRun {
  readonly kind: "minutes";
  readonly sequence: number;
}

interface FoundMessage {
  readonly kind: "other";
  readonly boot: number;
  readonly sequence: number;
  readonly start: Instant;
  readonly receivedAt: Instant;
  readonly message: Exclude<UplinkMessage, { kind: "minutes" }>;
}

export interface Sought {
  /** Messages that start from here on, ... */
  readonly startFrom: number;
  /** ... and before this ... */
  readonly startBefore: number;
  /** ... and end here or later, ... */
  readonly endFrom: number;
  /** ... and have come by then. */
  readonly knownBy: number;
}

/** A unit's messages, packed or not, in the order (boot, sequence). */
export function findMessages(
  { statements, blocks }: TelemetryTables,
  unit: UnitSerial,
  sought: Sought,
): Found[] {
  const found: Found[] = [];
  for (const head of blocks.inTime(unit, sought.endFrom, sought.startBefore)) {
    addFrom(found, blocks.open(head), head.boot, sought);
  }
  const { startFrom, startBefore, endFrom, knownBy } = sought;
  for (const row of statements.inTime.all(unit, startFrom, startBefore, endFrom, knownBy)) {
    found.push(foundIn(row));
  }
  return isInOrder(found) ? found : found.sort(byName);
}

const byName = (a: Found, b: Found): number => a.boot - b.boot || a.sequence - b.sequence;

const isInOrder = (found: readonly Found[]): boolean =>
  found.every((each, at) => {
    const before = found[at - 1];
    return before === undefined || byName(before, each) < 0;
  });

function addFrom(found: Found[], block: OpenBlock, boot: number, sought: Sought): void {
  const { startFrom, startBefore, endFrom, knownBy } = sought;
  let from = 0;
  let nextPayload = 0;
  for (let at = 0; at < block.sequence.length; at++) {
    const receivedAt = instant(block.receivedAt[at] ?? 0);
    const bootedAt = instant(block.bootedAt[at] ?? 0);
    const sequence = block.sequence[at] ?? 0;
    const count = block.minutes[at] ?? 0;
    if (count > 0) {
      const firstUptimeSeconds = block.firstUptimeSeconds[at] ?? 0;
      const start = instant(bootedAt + firstUptimeSeconds * 1_000);
      const end = start + count * 60_000;
      if (start >= startFrom && start < startBefore && end >= endFrom && receivedAt <= knownBy) {
        const { columns } = block;
        found.push({
          kind: "minutes",
          boot,
          sequence,
          start,
          receivedAt,
          firstUptimeSeconds,
          columns,
          from,
          count,
        });
      }
      from += count;
      continue;
    }
    const message = decoded(block.payloads[nextPayload++] ?? new Uint8Array(), sequence);
    const { start, end } = placed(message, bootedAt);
    if (start >= startFrom && start < startBefore && end >= endFrom && receivedAt <= knownBy)
      found.push(foundOf(message, { boot, sequence, start, receivedAt }));
  }
}

const foundIn = (row: MessageRow): Found =>
  foundOf(decoded(row.payload, row.sequence), {
    boot: row.boot,
    sequence: row.sequence,
    start: row.startsAt,
    receivedAt: row.receivedAt,
  });

function foundOf(
  message: UplinkMessage,
  place: { boot: number; sequence: number; start: Instant; receivedAt: Instant },
): Found {
  if (message.kind !== "minutes") return { kind: "other", ...place, message };
  const { firstUptimeSeconds, minutes } = message;
  const columns = columnsOf(minutes);
  return { kind: "minutes", ...place, firstUptimeSeconds, columns, from: 0, count: minutes.length };
}

function decoded(payload: Uint8Array, sequence: number): UplinkMessage {
  const message = decodeUplink(payload);
  if (message.kind === "unreadable")
    throw new Error(`Stored message ${sequence} can no longer be read: ${message.reason}`);
  return message;
}
