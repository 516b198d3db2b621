import type { UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import type { UnitSerial } from "../domain/ids.ts";
import { type Instant, instant } from "../domain/units.ts";
import { isContradicted, placeBootsBeside, placeNew, placeWholeBoot } from "./telemetry-placing.ts";
import type { AppendOutcome, IncomingMessage, StoredUpTo } from "./telemetry-port.ts";
import type { SequenceRange } from "./telemetry-ranges.ts";
import { writeSettled } from "./telemetry-received.ts";
import { placed } from "./telemetry-record.ts";
import type { TelemetryTables } from "./telemetry-tables.ts";
import { type AsideMessage, aside, digestOf, type ReadableMessage, triage } from "./telemetry-triage.ts";

/** What a commit added to one unit's record, for the review that follows. */
export interface News {
  readonly unit: UnitSerial;
  readonly earliest: Instant;
  /** Of the messages it stored. */
  readonly ids: readonly number[];
}

export interface Appended {
  readonly outcome: AppendOutcome;
  readonly news: readonly News[];
  /** Units that reported something lost from their own store. */
  readonly lostReportedBy: readonly UnitSerial[];
}

interface BootBatch {
  readonly unit: UnitSerial;
  readonly boot: number;
  /** What of the boot need not be sent again, though no message of it is stored. */
  readonly settled: SequenceRange[];
  readonly messages: ReadableMessage[];
}

/** Stores a batch; call it inside one transaction. */
export function appendBatch(tables: TelemetryTables, batch: readonly IncomingMessage[]): Appended {
  const boots = new Map<string, BootBatch>();
  const toKeep: AsideMessage[] = [];
  for (const incoming of batch) {
    const triaged = triage(incoming);
    if (triaged.kind === "aside") toKeep.push(triaged);
    else bootOf(boots, incoming.unit, triaged.message.boot).messages.push(triaged);
  }
  const toldLost: { unit: UnitSerial; boot: number; range: SequenceRange }[] = [];
  const counts = { stored: 0, duplicates: 0 };
  const news: News[] = [];
  for (const boot of boots.values()) {
    const sorted = sortOutKnown(tables, boot);
    counts.stored += sorted.fresh.length;
    counts.duplicates += sorted.duplicates;
    toKeep.push(...sorted.clashing);
    toldLost.push(...sorted.fresh.flatMap(({ message, incoming }) => lostBy(message, incoming.unit)));
    if (sorted.fresh.length > 0) news.push(store(tables, boot, sorted.fresh));
  }
  for (const message of toKeep) {
    keepAside(tables, message);
    const { name, incoming } = message;
    if (name !== null) bootOf(boots, incoming.unit, name.boot).settled.push(only(name.sequence));
  }
  for (const { unit, boot, range } of toldLost) bootOf(boots, unit, boot).settled.push(range);
  noteHeard(tables, batch);
  return {
    outcome: { ...counts, keptAside: toKeep.length, receipts: receiptsFor(tables, boots) },
    news,
    lostReportedBy: toldLost.map(({ unit }) => unit),
  };
}

const only = (sequence: number): SequenceRange => ({ from: sequence, to: sequence });

function lostBy(message: UplinkMessage, unit: UnitSerial) {
  if (message.kind !== "fault" || message.lost === null) return [];
  const { boot, fromSequence, toSequence } = message.lost;
  return [{ unit, boot, range: { from: fromSequence, to: toSequence } }];
}

function bootOf(boots: Map<string, BootBatch>, unit: UnitSerial, boot: number): BootBatch {
  const key = `${unit} ${boot}`;
  const known = boots.get(key);
  if (known) return known;
  const added: BootBatch = { unit, boot, settled: [], messages: [] };
  boots.set(key, added);
  return added;
}

/** Tells new messages from resends, and both from other bytes under a name already taken: the first keeps it. */
function sortOutKnown(tables: TelemetryTables, { unit, boot, messages }: BootBatch) {
  const fresh = new Map<number, ReadableMessage>();
  const clashing: AsideMessage[] = [];
  let duplicates = 0;
  for (const readable of messages) {
    const { message, incoming } = readable;
    const taken =
      fresh.get(message.sequence)?.incoming.payload ?? payloadNamed(tables, unit, boot, message.sequence);
    if (taken === undefined) fresh.set(message.sequence, readable);
    else if (Buffer.compare(taken, incoming.payload) === 0) duplicates += 1;
    else
      clashing.push(
        aside(incoming, message, "FP-4.5", "Another message has this boot and sequence already."),
      );
  }
  const written = [...fresh.values()].sort((a, b) => a.message.sequence - b.message.sequence);
  return { fresh: written, clashing, duplicates };
}

/** undefined: no message of this name is stored. */
function payloadNamed(
  { settled, statements, blocks }: TelemetryTables,
  unit: UnitSerial,
  boot: number,
  sequence: number,
): Uint8Array | undefined {
  if (!settled.has(unit, boot, sequence)) return undefined;
  return statements.payloadNamed.get(unit, boot, sequence) ?? blocks.payloadNamed(unit, boot, sequence);
}

function store(tables: TelemetryTables, { unit, boot }: BootBatch, fresh: readonly ReadableMessage[]): News {
  const received = fresh.map(({ message, incoming }) => ({ message, receivedAt: incoming.receivedAt }));
  const { statements, recent, settled } = tables;
  const anchorBefore = tables.anchors.of(unit, boot);
  const contradicted = isContradicted(tables, unit, boot, received);
  const placing = placeNew(tables, unit, boot, received);
  const ids: number[] = [];
  const reported: Reported = { versions: null, relay: null };
  for (const [at, { message, incoming }] of fresh.entries()) {
    const { start, end } = placed(message, placing.bootedAt[at] ?? incoming.receivedAt);
    const { sequence, kind } = message;
    const { receivedAt, payload } = incoming;
    const row = statements.insertMessage.run(unit, boot, sequence, kind, receivedAt, start, end, payload);
    const id = Number(row.lastInsertRowid);
    ids.push(id);
    settled.add(unit, boot, only(sequence));
    if (message.kind === "hello") reported.versions = message;
    if (message.kind === "hello" || message.kind === "relay")
      reported.relay = message.relay ?? reported.relay;
  }
  const [firstId] = ids;
  if (firstId !== undefined) recent.addFrom(firstId);
  noteReported(tables, unit, boot, reported);
  const replaced = contradicted ? placeWholeBoot(tables, unit, boot) : null;
  const isPlacedAnew = anchorBefore === null || placing.moved || replaced !== null;
  const others = isPlacedAnew ? placeBootsBeside(tables, unit, boot) : null;
  const earliest = instant(
    Math.min(placing.earliest, replaced ?? placing.earliest, others ?? placing.earliest),
  );
  if (placing.moved || replaced !== null || others !== null)
    statements.recordMoved.run(unit, earliest, ids.at(-1) ?? 0);
  return { unit, earliest, ids };
}

interface Reported {
  versions: { readonly firmware: string; readonly hardware: string } | null;
  relay: string | null;
}

/** What comes out of the backlog of an earlier boot doesn't take back what a later boot reported. */
function noteReported(
  tables: TelemetryTables,
  unit: UnitSerial,
  boot: number,
  { versions, relay }: Reported,
): void {
  if (versions === null && relay === null) return;
  const { statements, blocks } = tables;
  const newest = Math.max(statements.newestHelloBoot.get(unit) ?? 0, blocks.newestHelloBoot(unit) ?? 0);
  if (newest > boot) return;
  if (versions !== null) statements.reportedVersions.run(versions.firmware, versions.hardware, unit);
  if (relay !== null) statements.reportedRelay.run(relay, unit);
}

/** Keeps one message aside, and nothing else. */
export function appendAside(tables: TelemetryTables, message: AsideMessage): Appended {
  keepAside(tables, message);
  noteHeard(tables, [message.incoming]);
  return {
    outcome: { stored: 0, duplicates: 0, keptAside: 1, receipts: new Map() },
    news: [],
    lostReportedBy: [],
  };
}

function keepAside({ statements }: TelemetryTables, { incoming, clause, reason }: AsideMessage): void {
  const { unit, topic, receivedAt, payload } = incoming;
  statements.keepAside.run(unit, topic, receivedAt, clause, reason, digestOf(payload), payload);
}

function noteHeard({ heard }: TelemetryTables, batch: readonly IncomingMessage[]): void {
  let newest = 0;
  for (const { unit, receivedAt } of batch) {
    heard.note(unit, receivedAt);
    newest = Math.max(newest, receivedAt);
  }
  heard.writeIfDue(newest);
}

function receiptsFor(
  tables: TelemetryTables,
  boots: ReadonlyMap<string, BootBatch>,
): AppendOutcome["receipts"] {
  const receipts = new Map<UnitSerial, StoredUpTo[]>();
  for (const { unit, boot, settled } of boots.values()) {
    writeSettled(tables.statements, unit, boot, settled);
    for (const range of settled) tables.settled.add(unit, boot, range);
    const upTo = tables.settled.upTo(unit, boot);
    if (upTo !== null) receipts.set(unit, [...(receipts.get(unit) ?? []), upTo]);
  }
  for (const boots of receipts.values()) boots.sort((a, b) => a.boot - b.boot);
  return receipts;
}
