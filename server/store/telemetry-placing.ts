import { decodeUplink } from "../../firmware-protocol/src/decode.ts";
import type { UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import type { UnitSerial } from "../domain/ids.ts";
import { type BootAnchor, type Heard, placeHeard } from "../domain/time/boot-anchor.ts";
import { type Instant, instant, seconds } from "../domain/units.ts";
import { placed } from "./telemetry-record.ts";
import type { MessageRow, TelemetryStatements } from "./telemetry-statements.ts";

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
  statements: TelemetryStatements,
  unit: UnitSerial,
  boot: number,
  fresh: readonly Received[],
): PlacedBoot {
  const before = anchorOf(statements, unit, boot);
  const notBefore = before?.basis === "clock" ? null : (statements.endOfEarlierBoots.get(unit, boot) ?? null);
  const placing = placeHeard(before, fresh.map(heard), notBefore);
  if (before === null || !sameAnchor(before, placing.anchor)) {
    saveAnchor(statements, unit, boot, placing.anchor);
  }
  const starts = fresh.map(({ message }, at) => placed(message, placing.bootedAt[at] ?? instant(0)).start);
  const earliest = earliestOf(starts);
  if (placing.moveEarlier === 0) return { bootedAt: placing.bootedAt, earliest, moved: false };
  const old = statements.bootPlaced.get(unit, boot)?.earliest ?? earliest;
  statements.moveBoot.run(placing.moveEarlier, placing.moveEarlier, unit, boot);
  const changed = earliestOf([earliest, old, instant(old + placing.moveEarlier)]);
  return { bootedAt: placing.bootedAt, earliest: changed, moved: true };
}

/** Whether `fresh` speaks against its boot's anchor, with no later word of the unit's clock to overrule it. */
export function isContradicted(
  statements: TelemetryStatements,
  unit: UnitSerial,
  boot: number,
  fresh: readonly Received[],
): boolean {
  const anchor = anchorOf(statements, unit, boot);
  if (anchor === null || !placeHeard(anchor, fresh.map(heard), null).contradicted) return false;
  const newest = statements.newestOfBoot.get(unit, boot);
  const message = newest && messageOf(newest);
  const lastFresh = fresh.at(-1)?.message.sequence ?? 0;
  if (!newest || !message || newest.sequence < lastFresh) return true;
  // The newest stored message has a clock that agrees with the anchor: what comes later in the post was written before.
  const claim = placeHeard(anchor, [heard({ message, receivedAt: newest.receivedAt })], null);
  return message.wallSeconds === null || claim.contradicted;
}

/** Places every stored message of a boot again. @returns the earliest instant that changed, old or new */
export function placeWholeBoot(
  statements: TelemetryStatements,
  unit: UnitSerial,
  boot: number,
): Instant | null {
  const rows = statements.wholeBoot.all(unit, boot).flatMap((row) => {
    const message = messageOf(row);
    return message === null ? [] : [{ row, message, receivedAt: row.receivedAt }];
  });
  if (rows.length === 0) return null;
  const notBefore = statements.endOfEarlierBoots.get(unit, boot) ?? null;
  const placing = placeHeard(null, rows.map(heard), notBefore);
  saveAnchor(statements, unit, boot, placing.anchor);
  const changed: Instant[] = [];
  for (const [at, { row, message }] of rows.entries()) {
    const { start, end } = placed(message, placing.bootedAt[at] ?? placing.anchor.bootedAt);
    if (start === row.startsAt) continue;
    statements.moveMessage.run(start, end, row.id);
    changed.push(start, row.startsAt);
  }
  return changed.length === 0 ? null : earliestOf(changed);
}

const heard = ({ message, receivedAt }: Received): Heard => ({
  uptime: seconds(message.uptimeSeconds),
  wall: message.wallSeconds === null ? null : seconds(message.wallSeconds),
  receivedAt,
});

function anchorOf(statements: TelemetryStatements, unit: UnitSerial, boot: number): BootAnchor | null {
  const row = statements.anchorOf.get(unit, boot);
  return row ? { bootedAt: row.bootedAt, error: seconds(row.errorSeconds), basis: row.basis } : null;
}

const saveAnchor = (
  statements: TelemetryStatements,
  unit: UnitSerial,
  boot: number,
  { bootedAt, error, basis }: BootAnchor,
): void => {
  statements.saveAnchor.run(unit, boot, bootedAt, error, basis);
};

const sameAnchor = (a: BootAnchor, b: BootAnchor): boolean =>
  a.bootedAt === b.bootedAt && a.error === b.error && a.basis === b.basis;

function messageOf(row: MessageRow): UplinkMessage | null {
  const message = decodeUplink(row.payload);
  return message.kind === "unreadable" ? null : message;
}

const earliestOf = (instants: readonly Instant[]): Instant =>
  instant(instants.reduce((first, at) => Math.min(first, at), Number.POSITIVE_INFINITY));
