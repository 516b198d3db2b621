import { decodeUplink } from "../../firmware-protocol/src/decode.ts";
import type { MinuteRecord, UplinkKind, UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import { peekKind } from "../../firmware-protocol/src/peek-kind.ts";
import type { UnitSerial } from "../domain/ids.ts";
import { type Instant, instant, type Span } from "../domain/units.ts";
import type { OpenBlock } from "./telemetry-block.ts";
import { columnsOf } from "./telemetry-minute-columns.ts";
import type { MinuteRun } from "./telemetry-minutes.ts";
import { placed } from "./telemetry-record.ts";
import type { MessageRow } from "./telemetry-statements.ts";
import type { TelemetryTables } from "./telemetry-tables.ts";

/** A unit's messages, packed or not, each list in the order (boot, sequence). */
export interface FoundMessages {
  /** Still in their columns. */
  readonly minutes: readonly MinuteRun[];
  /** All of one kind, still as bytes. */
  others(kind: UplinkKind): readonly FoundBytes[];
}

export interface FoundBytes {
  readonly boot: number;
  readonly sequence: number;
  /** Uptime zero; where a row was placed is known without. */
  readonly placed: { readonly bootedAt: Instant } | { readonly startsAt: Instant };
  readonly receivedAt: Instant;
  readonly payload: Uint8Array;
  /** Once somebody has decoded it. */
  message: UplinkMessage | null;
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

interface Run extends MinuteRun {
  count: number;
}

interface PackedPart {
  readonly block: OpenBlock;
  readonly boot: number;
}

export function findMessages(
  { statements, blocks }: TelemetryTables,
  unit: UnitSerial,
  sought: Sought,
): FoundMessages {
  const minutes: Run[] = [];
  const packed: PackedPart[] = [];
  for (const head of blocks.inTime(unit, sought.endFrom, sought.startBefore)) {
    const part = { block: blocks.open(head), boot: head.boot };
    addMinutes(minutes, part, sought);
    packed.push(part);
  }
  const { startFrom, startBefore, endFrom, knownBy } = sought;
  const rows = statements.inTime.all(unit, startFrom, startBefore, endFrom, knownBy);
  const unpacked = addRows(minutes, rows);
  const others = new Map<UplinkKind, readonly FoundBytes[]>();
  return {
    minutes: inOrder(minutes),
    others: (kind) => {
      const known = others.get(kind);
      if (known !== undefined) return known;
      const found = unpacked.filter((one) => (peekKind(one.payload) ?? decodedOf(one).kind) === kind);
      for (const part of packed) addOthers(found, part, kind, knownBy);
      others.set(kind, inOrder(found));
      return found;
    },
  };
}

export function decodedStored(payload: Uint8Array): UplinkMessage {
  const message = decodeUplink(payload);
  if (message.kind === "unreadable")
    throw new Error(`A stored message can no longer be read: ${message.reason}`);
  return message;
}

/** From the first thing it tells of to the last, in true time. */
export function spanOf(found: FoundBytes): Span {
  const message = decodedOf(found);
  if ("bootedAt" in found.placed) return placed(message, found.placed.bootedAt);
  const { startsAt } = found.placed;
  const { start, end } = placed(message, startsAt);
  return { start: startsAt, end: instant(startsAt + (end - start)) };
}

export function decodedOf(found: FoundBytes): UplinkMessage {
  found.message ??= decodedStored(found.payload);
  return found.message;
}

type Named = { readonly boot: number; readonly sequence: number };
const byName = (a: Named, b: Named): number => a.boot - b.boot || a.sequence - b.sequence;

function inOrder<Item extends Named>(items: Item[]): Item[] {
  const isInOrder = items.every((each, at) => {
    const before = items[at - 1];
    return before === undefined || byName(before, each) < 0;
  });
  return isInOrder ? items : items.sort(byName);
}

/** One run for as long as nothing can lie between two messages and their minutes follow each other. */
function addMinutes(minutes: Run[], { block, boot }: PackedPart, sought: Sought): void {
  const { columns, minuteReceivedAt: receivedAt } = block;
  let from = 0;
  let run: Run | null = null;
  let last = -1;
  for (let at = 0; at < block.sequence.length; at++) {
    const count = block.minutes[at] ?? 0;
    if (count === 0) continue;
    const first = block.firstUptimeSeconds[at] ?? 0;
    const sequence = block.sequence[at] ?? 0;
    const start = (block.bootedAt[at] ?? 0) + first * 1_000;
    const isSought = fits(sought, start, start + count * 60_000, block.receivedAt[at] ?? 0);
    const follows: boolean =
      run !== null &&
      last >= 0 &&
      block.bootedAt[at] === block.bootedAt[last] &&
      first === run.firstUptimeSeconds + run.count * 60 &&
      sequence - (block.sequence[last] ?? 0) === at - last;
    if (!isSought) run = null;
    else if (follows && run !== null) run.count += count;
    else {
      run = {
        boot,
        sequence,
        start: instant(start),
        firstUptimeSeconds: first,
        columns,
        receivedAt,
        from,
        count,
      };
      minutes.push(run);
    }
    last = at;
    from += count;
  }
}

/** Whether they are in time shows when they are decoded. */
function addOthers(found: FoundBytes[], part: PackedPart, kind: UplinkKind, knownBy: number): void {
  const { sure, unsure } = part.block.raw.ofKind(kind);
  for (const number of sure) {
    const one = rawAt(part, number, knownBy);
    if (one !== null) found.push(one);
  }
  for (const number of unsure) {
    const one = rawAt(part, number, knownBy);
    if (one !== null && decodedOf(one).kind === kind) found.push(one);
  }
}

function rawAt({ block, boot }: PackedPart, number: number, knownBy: number): FoundBytes | null {
  const place = block.raw.places[number] ?? 0;
  const receivedAt = instant(block.receivedAt[place] ?? 0);
  const payload = block.raw.at(number)?.payload;
  if (payload === undefined || receivedAt > knownBy) return null;
  const placed = { bootedAt: instant(block.bootedAt[place] ?? 0) };
  return { boot, sequence: block.sequence[place] ?? 0, placed, receivedAt, payload, message: null };
}

/** The minutes of all rows lie in the same columns.
 *  @returns the others */
function addRows(found: Run[], rows: readonly MessageRow[]): FoundBytes[] {
  const others: FoundBytes[] = [];
  const minutes: MinuteRecord[] = [];
  const received: number[] = [];
  const runs: Omit<Run, "columns" | "receivedAt">[] = [];
  for (const { boot, sequence, receivedAt, startsAt, payload } of rows) {
    const kind = peekKind(payload);
    const message = kind === null || kind === "minutes" ? decodedStored(payload) : null;
    if (message?.kind !== "minutes") {
      others.push({ boot, sequence, placed: { startsAt }, receivedAt, payload, message });
      continue;
    }
    const { firstUptimeSeconds } = message;
    const count = message.minutes.length;
    runs.push({ boot, sequence, start: startsAt, firstUptimeSeconds, from: minutes.length, count });
    for (const minute of message.minutes) {
      minutes.push(minute);
      received.push(receivedAt);
    }
  }
  const columns = columnsOf(minutes);
  const receivedAt = Float64Array.from(received);
  for (const run of runs) found.push({ ...run, columns, receivedAt });
  return others;
}

const fits = (sought: Sought, start: number, end: number, receivedAt: number): boolean =>
  start >= sought.startFrom &&
  start < sought.startBefore &&
  end >= sought.endFrom &&
  receivedAt <= sought.knownBy;
