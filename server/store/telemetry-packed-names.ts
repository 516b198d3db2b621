import type { UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { OpenBlock, PackedMessage } from "./telemetry-block.ts";
import { messageOf } from "./telemetry-block-messages.ts";
import { type BlockHead, spanOfPacked } from "./telemetry-blocks.ts";
import type { TelemetryTables } from "./telemetry-tables.ts";

interface Name {
  readonly boot: number;
  readonly sequence: number;
}

/** Names of a unit's packed messages that had come by then. A block without a gap that had come as a whole need not
 *  be opened. */
export function packedSequences(
  { blocks }: TelemetryTables,
  unit: UnitSerial,
  knownBy: Instant,
  among?: { readonly boot: number; readonly from: number; readonly to: number },
): Name[] {
  const heads = among === undefined ? blocks.ofUnit(unit) : blocks.ofBoot(unit, among.boot);
  const names: Name[] = [];
  for (const head of heads) {
    if (among !== undefined && (head.toSequence < among.from || head.fromSequence > among.to)) continue;
    const { boot } = head;
    if (isWhole(head) && head.lastReceivedAt <= knownBy) {
      const from = Math.max(head.fromSequence, among?.from ?? 0);
      const to = Math.min(head.toSequence, among?.to ?? head.toSequence);
      for (let sequence = from; sequence <= to; sequence++) names.push({ boot, sequence });
      continue;
    }
    const block = blocks.open(head);
    for (const [at, sequence] of block.sequence.entries()) {
      if ((block.receivedAt[at] ?? 0) > knownBy) continue;
      if (among === undefined || (sequence >= among.from && sequence <= among.to))
        names.push({ boot, sequence });
    }
  }
  return names;
}

const isWhole = ({ fromSequence, toSequence, messages }: BlockHead): boolean =>
  toSequence - fromSequence + 1 === messages;

/** End of the last message before this one of the same boot, of those that had come by then. */
export function nearestBefore(
  tables: TelemetryTables,
  unit: UnitSerial,
  { boot, sequence }: Name,
  knownBy: Instant,
): Instant | null {
  if (sequence === 0) return null;
  const neighbour = packedOf(tables, unit, { boot, sequence: sequence - 1 }, knownBy);
  if (neighbour !== null) return spanOfPacked(neighbour).end;
  const recent = tables.statements.lastBefore.get(unit, boot, sequence, knownBy);
  if (recent?.sequence === sequence - 1) return recent.at;
  let best: PackedMessage | null = null;
  const heads = tables.blocks.ofBoot(unit, boot).filter(({ fromSequence }) => fromSequence < sequence);
  for (const head of heads.sort((a, b) => b.toSequence - a.toSequence)) {
    if (head.toSequence <= Math.max(best?.sequence ?? -1, recent?.sequence ?? -1)) break;
    const block = tables.blocks.open(head);
    const last = lastPlace(block, (at) => (block.sequence[at] ?? 0) < sequence, knownBy);
    if (last !== -1 && (block.sequence[last] ?? 0) > (best?.sequence ?? -1))
      best = messageOf(block, head, last);
  }
  if (best !== null && best.sequence > (recent?.sequence ?? -1)) return spanOfPacked(best).end;
  return recent?.at ?? null;
}

/** Start of the first message after this one of the same boot, of those that had come by then. */
export function nearestAfter(
  tables: TelemetryTables,
  unit: UnitSerial,
  { boot, sequence }: Name,
  knownBy: Instant,
): Instant | null {
  const neighbour = packedOf(tables, unit, { boot, sequence: sequence + 1 }, knownBy);
  if (neighbour !== null) return spanOfPacked(neighbour).start;
  const never = Number.POSITIVE_INFINITY;
  const recent = tables.statements.firstAfter.get(unit, boot, sequence, knownBy);
  if (recent?.sequence === sequence + 1) return recent.at;
  let best: PackedMessage | null = null;
  const heads = tables.blocks.ofBoot(unit, boot).filter(({ toSequence }) => toSequence > sequence);
  for (const head of heads.sort((a, b) => a.fromSequence - b.fromSequence)) {
    if (head.fromSequence >= Math.min(best?.sequence ?? never, recent?.sequence ?? never)) break;
    const block = tables.blocks.open(head);
    const first = firstPlace(block, (at) => (block.sequence[at] ?? 0) > sequence, knownBy);
    if (first !== -1 && (block.sequence[first] ?? 0) < (best?.sequence ?? never))
      best = messageOf(block, head, first);
  }
  if (best !== null && best.sequence < (recent?.sequence ?? never)) return spanOfPacked(best).start;
  return recent?.at ?? null;
}

/** The very message, where a block holds it: what lies beside a gap mostly is one, and none can be nearer. */
function packedOf(
  { blocks }: TelemetryTables,
  unit: UnitSerial,
  { boot, sequence }: Name,
  knownBy: Instant,
): PackedMessage | null {
  for (const head of blocks.around(unit, boot, sequence)) {
    const block = blocks.open(head);
    const at = firstPlace(block, (place) => block.sequence[place] === sequence, knownBy);
    if (at !== -1) return messageOf(block, head, at);
  }
  return null;
}

/** Places are looked through in the block's columns: a message is made of one of them alone. */
function firstPlace(
  { sequence, receivedAt }: OpenBlock,
  fits: (at: number) => boolean,
  knownBy: Instant,
): number {
  for (let at = 0; at < sequence.length; at++) if (fits(at) && (receivedAt[at] ?? 0) <= knownBy) return at;
  return -1;
}

function lastPlace(
  { sequence, receivedAt }: OpenBlock,
  fits: (at: number) => boolean,
  knownBy: Instant,
): number {
  for (let at = sequence.length - 1; at >= 0; at--)
    if (fits(at) && (receivedAt[at] ?? 0) <= knownBy) return at;
  return -1;
}
