import type { UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import type { UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import { isContradicted, placeNew, placeWholeBoot } from "./telemetry-placing.ts";
import type { AppendOutcome, IncomingMessage, StoredUpTo } from "./telemetry-port.ts";
import type { SequenceRange } from "./telemetry-ranges.ts";
import { markSettled, storedUpTo } from "./telemetry-received.ts";
import { placed } from "./telemetry-record.ts";
import type { TelemetryStatements } from "./telemetry-statements.ts";
import { type AsideMessage, aside, digestOf, type ReadableMessage, triage } from "./telemetry-triage.ts";

/** What a commit added to one unit's record, for the review that follows. */
export interface News {
  readonly unit: UnitSerial;
  readonly earliest: Instant;
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
  /** What of the boot need not be sent again. */
  readonly settled: SequenceRange[];
  readonly messages: ReadableMessage[];
}

/** Stores a batch; call it inside one transaction. */
export function appendBatch(statements: TelemetryStatements, batch: readonly IncomingMessage[]): Appended {
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
    const sorted = sortOutKnown(statements, boot);
    counts.stored += sorted.fresh.length;
    counts.duplicates += sorted.duplicates;
    toKeep.push(...sorted.clashing);
    for (const { message } of boot.messages) boot.settled.push(only(message.sequence));
    toldLost.push(...sorted.fresh.flatMap(({ message, incoming }) => lostBy(message, incoming.unit)));
    if (sorted.fresh.length > 0)
      news.push({ unit: boot.unit, earliest: store(statements, boot, sorted.fresh) });
  }
  for (const message of toKeep) {
    keepAside(statements, message);
    const { name, incoming } = message;
    if (name !== null) bootOf(boots, incoming.unit, name.boot).settled.push(only(name.sequence));
  }
  for (const { unit, boot, range } of toldLost) bootOf(boots, unit, boot).settled.push(range);
  noteHeard(statements, batch);
  return {
    outcome: { ...counts, keptAside: toKeep.length, receipts: receiptsFor(statements, boots) },
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
function sortOutKnown(statements: TelemetryStatements, { unit, boot, messages }: BootBatch) {
  const fresh = new Map<number, ReadableMessage>();
  const clashing: AsideMessage[] = [];
  let duplicates = 0;
  for (const readable of messages) {
    const { message, incoming } = readable;
    const taken =
      fresh.get(message.sequence)?.incoming.payload ??
      statements.payloadNamed.get(unit, boot, message.sequence);
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

/** @returns the earliest instant of the unit's record that changed */
function store(
  statements: TelemetryStatements,
  { unit, boot }: BootBatch,
  fresh: readonly ReadableMessage[],
): Instant {
  const received = fresh.map(({ message, incoming }) => ({ message, receivedAt: incoming.receivedAt }));
  const contradicted = isContradicted(statements, unit, boot, received);
  const placing = placeNew(statements, unit, boot, received);
  let versions: { firmware: string; hardware: string } | null = null;
  for (const [at, { message, incoming }] of fresh.entries()) {
    const { start, end } = placed(message, placing.bootedAt[at] ?? incoming.receivedAt);
    const { sequence, kind, uptimeSeconds } = message;
    const { receivedAt, payload } = incoming;
    statements.insertMessage.run(unit, boot, sequence, kind, receivedAt, uptimeSeconds, start, end, payload);
    if (message.kind === "hello") versions = message;
  }
  if (versions !== null) noteVersions(statements, unit, boot, versions);
  const replaced = contradicted ? placeWholeBoot(statements, unit, boot) : null;
  if (placing.moved || replaced !== null) statements.reviewAgainFrom.run(unit, boot, unit);
  return replaced !== null && replaced < placing.earliest ? replaced : placing.earliest;
}

/** A hello out of the backlog of an earlier boot doesn't take back what a later boot reported. */
function noteVersions(
  statements: TelemetryStatements,
  unit: UnitSerial,
  boot: number,
  { firmware, hardware }: { readonly firmware: string; readonly hardware: string },
): void {
  const newest = statements.newestHelloBoot.get(unit);
  if (newest === undefined || newest <= boot) statements.reportedVersions.run(firmware, hardware, unit);
}

/** Keeps one message aside, and nothing else. */
export function appendAside(statements: TelemetryStatements, message: AsideMessage): Appended {
  keepAside(statements, message);
  noteHeard(statements, [message.incoming]);
  return {
    outcome: { stored: 0, duplicates: 0, keptAside: 1, receipts: new Map() },
    news: [],
    lostReportedBy: [],
  };
}

function keepAside(statements: TelemetryStatements, { incoming, clause, reason }: AsideMessage): void {
  const { unit, topic, receivedAt, payload } = incoming;
  statements.keepAside.run(unit, topic, receivedAt, clause, reason, digestOf(payload), payload);
}

function noteHeard(statements: TelemetryStatements, batch: readonly IncomingMessage[]): void {
  const heard = new Map<UnitSerial, Instant>();
  for (const { unit, receivedAt } of batch) {
    const last = heard.get(unit);
    if (last === undefined || receivedAt > last) heard.set(unit, receivedAt);
  }
  for (const [unit, at] of heard) statements.heardFrom.run(at, unit);
}

function receiptsFor(
  statements: TelemetryStatements,
  boots: ReadonlyMap<string, BootBatch>,
): AppendOutcome["receipts"] {
  const receipts = new Map<UnitSerial, StoredUpTo[]>();
  for (const { unit, boot, settled } of boots.values()) {
    markSettled(statements, unit, boot, settled);
    const upTo = storedUpTo(statements, unit, boot);
    if (upTo !== null) receipts.set(unit, [...(receipts.get(unit) ?? []), upTo]);
  }
  for (const boots of receipts.values()) boots.sort((a, b) => a.boot - b.boot);
  return receipts;
}
