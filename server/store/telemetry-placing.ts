import { decodeUplink } from "../../firmware-protocol/src/decode.ts";
import type { UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import type { UnitSerial } from "../domain/ids.ts";
import { type Heard, placeHeard, speaksAgainst } from "../domain/time/boot-anchor.ts";
import { type Instant, instant, seconds } from "../domain/units.ts";
import { payloadOf } from "./telemetry-block.ts";
import type { BlockHead } from "./telemetry-blocks.ts";
import { placed } from "./telemetry-record.ts";
import { placePackedBoot } from "./telemetry-repack.ts";
import type { TelemetryTables } from "./telemetry-tables.ts";

export interface Received {
  readonly message: UplinkMessage;
  readonly receivedAt: Instant;
}

/** A boot whose new messages have been given their place; `earliest` is the first instant that changes by it. */
export interface PlacedBoot {
  readonly bootedAt: readonly Instant[];
  readonly earliest: Instant;
  /** Rows stored before were moved as well. */
  readonly moved: boolean;
}

/** Gives new messages of one boot (in the order written, not stored yet) their place, and moves the boot's stored
 *  rows where these say better when it began. */
export function placeNew(
  tables: TelemetryTables,
  unit: UnitSerial,
  boot: number,
  fresh: readonly Received[],
): PlacedBoot {
  const { statements, blocks, anchors } = tables;
  const before = anchors.of(unit, boot);
  const notBefore = before?.basis === "clock" ? null : endOfEarlierBoots(tables, unit, boot);
  const notAfter = before?.basis === "clock" ? null : startOfLaterBoots(tables, unit, boot);
  const placing = placeHeard(before, fresh.map(heard), notBefore, notAfter);
  anchors.save(unit, boot, placing.anchor);
  const starts = fresh.map(({ message }, at) => placed(message, placing.bootedAt[at] ?? instant(0)).start);
  const earliest = earliestOf(starts);
  if (placing.moveEarlier === 0) return { bootedAt: placing.bootedAt, earliest, moved: false };
  const packedStarts = blocks.ofBoot(unit, boot).map(({ startsAt }) => startsAt);
  const old = earliestOf([statements.startOfBoot.get(unit, boot) ?? earliest, ...packedStarts]);
  statements.moveBoot.run(placing.moveEarlier, placing.moveEarlier, unit, boot);
  blocks.moveBoot(unit, boot, placing.moveEarlier);
  const changed = earliestOf([earliest, old, instant(old + placing.moveEarlier)]);
  return { bootedAt: placing.bootedAt, earliest: changed, moved: true };
}

/** Whether `fresh` speaks against its boot's anchor, with no later word of the unit's clock to overrule it. */
export function isContradicted(
  tables: TelemetryTables,
  unit: UnitSerial,
  boot: number,
  fresh: readonly Received[],
): boolean {
  const anchor = tables.anchors.of(unit, boot);
  const told = fresh.map(heard);
  if (anchor === null || !speaksAgainst(anchor, null, told)) return false;
  const newest = newestOf(tables, unit, boot);
  const lastFresh = fresh.at(-1)?.message.sequence ?? 0;
  if (newest === null || newest.message.sequence < lastFresh)
    return speaksAgainst(anchor, newest && heard(newest), told);
  // The newest stored message has a clock that agrees with the anchor: what comes later in the post was written before.
  return newest.message.wallSeconds === null || speaksAgainst(anchor, null, [heard(newest)]);
}

/** Places every stored message of a boot again. @returns the earliest instant that changed, old or new */
export function placeWholeBoot(tables: TelemetryTables, unit: UnitSerial, boot: number): Instant | null {
  const { statements, anchors } = tables;
  const packed = placePackedBoot(tables, unit, boot);
  const rows = statements.wholeBoot.all(unit, boot).flatMap((row) => {
    const message = messageOf(row.payload);
    return message === null ? [] : [{ row, message, receivedAt: row.receivedAt }];
  });
  const whole = [...packed.received, ...rows].sort((a, b) => a.message.sequence - b.message.sequence);
  if (whole.length === 0) return null;
  const placing = placeHeard(
    null,
    whole.map(heard),
    endOfEarlierBoots(tables, unit, boot),
    startOfLaterBoots(tables, unit, boot),
  );
  anchors.save(unit, boot, placing.anchor);
  const bootedAt = new Map(
    whole.map(({ message }, at) => [message.sequence, placing.bootedAt[at] ?? placing.anchor.bootedAt]),
  );
  const placeOf = (sequence: number): Instant => bootedAt.get(sequence) ?? placing.anchor.bootedAt;
  const changed: Instant[] = packed.moveTo(placeOf);
  for (const { row, message } of rows) {
    const { start, end } = placed(message, placeOf(message.sequence));
    if (start === row.startsAt) continue;
    statements.moveMessage.run(start, end, row.id);
    changed.push(start, row.startsAt);
  }
  return changed.length === 0 ? null : earliestOf(changed);
}

/** Places the boots beside this one that no clock speaks for again, now that more is known of it: those before had ended
 *  when it began, those after began when it had ended. @returns the earliest instant that changed, old or new */
export function placeBootsBeside(tables: TelemetryTables, unit: UnitSerial, boot: number): Instant | null {
  const { statements } = tables;
  const changed: Instant[] = [];
  for (const beside of [statements.earlierAnchors.all(unit, boot), statements.laterAnchors.all(unit, boot)])
    for (const { boot: other, basis } of beside) {
      // What lies beyond one with a clock is bounded by that one already.
      if (basis === "clock") break;
      const moved = placeWholeBoot(tables, unit, other);
      if (moved !== null) changed.push(moved);
    }
  return changed.length === 0 ? null : earliestOf(changed);
}

/** The earliest that the record of earlier boots can have ended: one placed by arrival alone may have ended by all of
 *  its error sooner than it is shown. */
function endOfEarlierBoots(
  { statements, blocks }: TelemetryTables,
  unit: UnitSerial,
  boot: number,
): Instant | null {
  const ends = statements.earlierAnchors.all(unit, boot).flatMap((earlier) => {
    const packed = blocks.ofBoot(unit, earlier.boot).map(({ endsAt }) => endsAt);
    const end = Math.max(statements.endOfBoot.get(unit, earlier.boot) ?? 0, ...packed);
    return end === 0 ? [] : [end - (earlier.basis === "arrival" ? earlier.errorSeconds * 1_000 : 0)];
  });
  return ends.length === 0 ? null : instant(Math.max(...ends));
}

const startOfLaterBoots = ({ statements }: TelemetryTables, unit: UnitSerial, boot: number): Instant | null =>
  statements.startOfLaterBoots.get(unit, boot) ?? null;

function newestOf({ statements, blocks }: TelemetryTables, unit: UnitSerial, boot: number): Received | null {
  const row = statements.newestOfBoot.get(unit, boot);
  const recent = row && messageOf(row.payload);
  const newest: Received | null = row && recent ? { message: recent, receivedAt: row.receivedAt } : null;
  const block = blocks
    .ofBoot(unit, boot)
    .reduce<BlockHead | null>(
      (last, head) => (last === null || head.toSequence > last.toSequence ? head : last),
      null,
    );
  if (block === null || (newest !== null && newest.message.sequence > block.toSequence)) return newest;
  const last = blocks.messagesOf(block).at(-1);
  const message = last === undefined ? null : messageOf(payloadOf(last.body));
  return last === undefined || message === null ? newest : { message, receivedAt: instant(last.receivedAt) };
}

const heard = ({ message, receivedAt }: Received): Heard => ({
  uptime: seconds(message.uptimeSeconds),
  wall: message.wallSeconds === null ? null : seconds(message.wallSeconds),
  receivedAt,
});

function messageOf(payload: Uint8Array): UplinkMessage | null {
  const message = decodeUplink(payload);
  return message.kind === "unreadable" ? null : message;
}

const earliestOf = (instants: readonly Instant[]): Instant =>
  instant(instants.reduce((first, at) => Math.min(first, at), Number.POSITIVE_INFINITY));
