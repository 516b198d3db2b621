import type Sqlite from "better-sqlite3";
import { decodeUplink } from "../../firmware-protocol/src/decode.ts";
import type { UnitSerial } from "../domain/ids.ts";
import { type Instant, instant } from "../domain/units.ts";
import { type OpenBlock, open, type PackedMessage, payloadOf } from "./telemetry-block.ts";
import { messagesIn } from "./telemetry-block-messages.ts";
import { uptimeSpanOf } from "./telemetry-record.ts";

export interface BlockHead {
  readonly id: number;
  readonly unit: UnitSerial;
  readonly boot: number;
  readonly bootDay: number;
  readonly part: number;
  readonly fromSequence: number;
  readonly toSequence: number;
  readonly messages: number;
  readonly bootedAt: Instant;
  readonly startsAt: Instant;
  readonly endsAt: Instant;
  readonly lastReceivedAt: Instant;
  readonly firstId: number;
  readonly lastId: number;
}

export interface NewBlock extends Omit<BlockHead, "id"> {
  readonly hasHello: boolean;
  readonly hasFault: boolean;
  readonly data: Buffer;
}

const headColumns = `id, unit_serial as unit, boot, boot_day as bootDay, part, from_sequence as fromSequence,
  to_sequence as toSequence, messages, booted_at as bootedAt, starts_at as startsAt, ends_at as endsAt,
  last_received_at as lastReceivedAt, first_id as firstId, last_id as lastId`;
/** About 120 kB each for a day of single minutes. */
const mostOpen = 256;

/** The packed part of the record. */
export class MessageBlocks {
  readonly #statements: ReturnType<typeof prepare>;
  /** Opened lately, the longest unused first. A block that changed has another name. */
  readonly #opened = new Map<string, OpenBlock>();

  constructor(driver: Sqlite.Database) {
    this.#statements = prepare(driver);
  }

  /** Those that tell of any of the time from `start` to `end`. */
  inTime(unit: UnitSerial, start: number, end: number): BlockHead[] {
    return this.#statements.inTime.all(unit, start, end);
  }

  ofUnit(unit: UnitSerial): BlockHead[] {
    return this.#statements.ofUnit.all(unit);
  }

  ofBoot(unit: UnitSerial, boot: number): BlockHead[] {
    return this.#statements.ofBoot.all(unit, boot);
  }

  /** Those that may hold this very message: few, whatever the history. */
  around(unit: UnitSerial, boot: number, sequence: number): BlockHead[] {
    return this.#statements.around.all(unit, boot, sequence, sequence);
  }

  /** The newest that had ended by then. */
  lastEndedBy(unit: UnitSerial, at: number): BlockHead | null {
    return this.#statements.lastEndedBy.get(unit, at) ?? null;
  }

  withFaults(unit: UnitSerial): BlockHead[] {
    return this.#statements.withFaults.all(unit);
  }

  newestHelloBoot(unit: UnitSerial): number | null {
    return this.#statements.newestHelloBoot.get(unit) ?? null;
  }

  lastRecorded(unit: UnitSerial): Instant | null {
    return this.#statements.lastRecorded.get(unit) ?? null;
  }

  open(head: BlockHead): OpenBlock {
    const { id, messages, lastId, bootedAt, startsAt, endsAt } = head;
    const name = `${id} ${messages} ${lastId} ${bootedAt} ${startsAt} ${endsAt}`;
    const known = this.#opened.get(name);
    if (known !== undefined) {
      this.#opened.delete(name);
      this.#opened.set(name, known);
      return known;
    }
    const data = this.#statements.data.get(id);
    if (data === undefined) throw new Error(`block ${id} is gone`);
    const block = open(data, bootedAt);
    this.#opened.set(name, block);
    for (const oldest of this.#opened.keys()) {
      if (this.#opened.size <= mostOpen) break;
      this.#opened.delete(oldest);
    }
    return block;
  }

  messagesOf(head: BlockHead): PackedMessage[] {
    return messagesIn(this.open(head), head);
  }

  /** The bytes of one message, or undefined when no block holds it. */
  payloadNamed(unit: UnitSerial, boot: number, sequence: number): Uint8Array | undefined {
    for (const head of this.ofBoot(unit, boot)) {
      if (sequence < head.fromSequence || sequence > head.toSequence) continue;
      const found = this.messagesOf(head).find((message) => message.sequence === sequence);
      if (found !== undefined) return payloadOf(found.body);
    }
    return undefined;
  }

  /** Call where a block may have changed without getting another name. */
  forgetOpened(): void {
    this.#opened.clear();
  }

  save(block: NewBlock): void {
    this.#statements.save.run(
      block.unit,
      block.boot,
      block.bootDay,
      block.part,
      block.fromSequence,
      block.toSequence,
      block.messages,
      block.bootedAt,
      block.startsAt,
      block.endsAt,
      block.lastReceivedAt,
      block.firstId,
      block.lastId,
      block.hasHello ? 1 : 0,
      block.hasFault ? 1 : 0,
      block.data,
    );
  }

  /** @param by milliseconds, later when positive */
  moveBoot(unit: UnitSerial, boot: number, by: number): void {
    this.#statements.moveBoot.run(by, by, by, unit, boot);
  }
}

/** What a packed message tells of, in true time. */
export function spanOfPacked({ body, bootedAt }: PackedMessage): { start: Instant; end: Instant } {
  const message = body.kind === "minutes" ? body.message : decodeUplink(body.payload);
  if (message.kind === "unreadable") throw new Error(`A packed message can't be read: ${message.reason}`);
  const { from, to } = uptimeSpanOf(message);
  return { start: instant(bootedAt + from * 1_000), end: instant(bootedAt + to * 1_000) };
}

function prepare(driver: Sqlite.Database) {
  const heads = (where: string) => `select ${headColumns} from message_block where unit_serial = ? ${where}`;
  const inOrder = "order by boot, boot_day, part";
  return {
    inTime: driver.prepare<[UnitSerial, number, number], BlockHead>(
      heads(`and ends_at >= ? and starts_at < ? ${inOrder}`),
    ),
    ofUnit: driver.prepare<[UnitSerial], BlockHead>(heads(inOrder)),
    ofBoot: driver.prepare<[UnitSerial, number], BlockHead>(heads(`and boot = ? ${inOrder}`)),
    around: driver.prepare<[UnitSerial, number, number, number], BlockHead>(
      heads(`and boot = ? and to_sequence >= ? and from_sequence <= ? ${inOrder}`),
    ),
    lastEndedBy: driver.prepare<[UnitSerial, number], BlockHead>(
      `select ${headColumns} from message_block where unit_serial = ? and ends_at <= ? order by ends_at desc limit 1`,
    ),
    withFaults: driver.prepare<[UnitSerial], BlockHead>(heads(`and has_fault = 1 ${inOrder}`)),
    newestHelloBoot: driver
      .prepare<[UnitSerial], number | null>(
        "select max(boot) from message_block where unit_serial = ? and has_hello = 1",
      )
      .pluck(),
    lastRecorded: driver
      .prepare<[UnitSerial], Instant | null>("select max(ends_at) from message_block where unit_serial = ?")
      .pluck(),
    data: driver.prepare<[number], Buffer>("select data from message_block where id = ?").pluck(),
    save: driver.prepare(
      `insert into message_block (unit_serial, boot, boot_day, part, from_sequence, to_sequence, messages, booted_at,
         starts_at, ends_at, last_received_at, first_id, last_id, has_hello, has_fault, data)
       values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
       on conflict (unit_serial, boot, boot_day, part) do update set from_sequence = excluded.from_sequence,
         to_sequence = excluded.to_sequence, messages = excluded.messages, booted_at = excluded.booted_at,
         starts_at = excluded.starts_at, ends_at = excluded.ends_at, last_received_at = excluded.last_received_at,
         first_id = excluded.first_id, last_id = excluded.last_id, has_hello = excluded.has_hello,
         has_fault = excluded.has_fault, data = excluded.data`,
    ),
    moveBoot: driver.prepare<[number, number, number, UnitSerial, number]>(
      `update message_block set booted_at = booted_at + ?, starts_at = starts_at + ?, ends_at = ends_at + ?
       where unit_serial = ? and boot = ?`,
    ),
  };
}
