import { decodeUplink } from "../../firmware-protocol/src/decode.ts";
import type { UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import type { UnitSerial } from "../domain/ids.ts";
import { type Instant, instant } from "../domain/units.ts";
import { type PackedMessage, pack } from "./telemetry-block.ts";
import { type BlockHead, type NewBlock, spanOfPacked } from "./telemetry-blocks.ts";
import type { TelemetryTables } from "./telemetry-tables.ts";

export interface BlockPlace {
  readonly unit: UnitSerial;
  readonly boot: number;
  readonly bootDay: number;
  readonly part: number;
}

/** A block of these messages, ready to be saved.
 *  @param messages in the order of sequence, at least one
 *  @param ids of the rows they had */
export function blockOf(
  place: BlockPlace,
  messages: readonly PackedMessage[],
  ids: { readonly first: number; readonly last: number },
): NewBlock {
  const base = instant(messages[0]?.bootedAt ?? 0);
  let startsAt = Number.POSITIVE_INFINITY;
  let endsAt = Number.NEGATIVE_INFINITY;
  let lastReceivedAt = Number.NEGATIVE_INFINITY;
  const kinds = new Set<string>();
  for (const message of messages) {
    const { start, end } = spanOfPacked(message);
    startsAt = Math.min(startsAt, start);
    endsAt = Math.max(endsAt, end);
    lastReceivedAt = Math.max(lastReceivedAt, message.receivedAt);
    if (message.body.kind === "raw") kinds.add(decodeUplink(message.body.payload).kind);
  }
  return {
    ...place,
    fromSequence: messages[0]?.sequence ?? 0,
    toSequence: messages.at(-1)?.sequence ?? 0,
    messages: messages.length,
    bootedAt: base,
    startsAt: instant(startsAt),
    endsAt: instant(endsAt),
    lastReceivedAt: instant(lastReceivedAt),
    firstId: ids.first,
    lastId: ids.last,
    hasHello: kinds.has("hello"),
    hasFault: kinds.has("fault"),
    data: pack(messages, base),
  };
}

export interface PackedBoot {
  readonly received: readonly { readonly message: UplinkMessage; readonly receivedAt: Instant }[];
  /** Places every packed message of the boot anew. @returns instants that changed, old and new */
  moveTo(placeOf: (sequence: number) => Instant): Instant[];
}

/** The packed part of a boot that has to be placed again as a whole: seldom, as when a dead clock was set right. */
export function placePackedBoot({ blocks }: TelemetryTables, unit: UnitSerial, boot: number): PackedBoot {
  const opened = blocks.ofBoot(unit, boot).map((head) => ({ head, messages: blocks.messagesOf(head) }));
  const received = opened.flatMap(({ messages }) =>
    messages.flatMap(({ body, receivedAt }) => {
      const message = body.kind === "minutes" ? body.message : decodeUplink(body.payload);
      return message.kind === "unreadable" ? [] : [{ message, receivedAt: instant(receivedAt) }];
    }),
  );
  return {
    received,
    moveTo: (placeOf) => {
      const changed: Instant[] = [];
      for (const { head, messages } of opened) {
        const moved = messages.map((message) => ({ ...message, bootedAt: placeOf(message.sequence) }));
        changed.push(...changedBetween(messages, moved));
        blocks.save(blockOf(placeIn(head), moved, { first: head.firstId, last: head.lastId }));
      }
      blocks.forgetOpened();
      return changed;
    },
  };
}

export const placeIn = ({ unit, boot, bootDay, part }: BlockHead): BlockPlace => ({
  unit,
  boot,
  bootDay,
  part,
});

function changedBetween(before: readonly PackedMessage[], after: readonly PackedMessage[]): Instant[] {
  return before.flatMap((message, at) => {
    const moved = after[at];
    if (moved === undefined || moved.bootedAt === message.bootedAt) return [];
    return [spanOfPacked(message).start, spanOfPacked(moved).start];
  });
}
