import type { Receipt } from "../../firmware-protocol/src/downlink.ts";
import type { Envelope, UplinkMessage } from "../../firmware-protocol/src/messages.ts";

/** Messages of one boot that were overrun before they could be delivered. */
export interface LostRange {
  readonly boot: number;
  readonly fromSequence: number;
  readonly toSequence: number;
}

/** The unit's own memory for messages, kept over resets. It forgets a message only when a receipt says that it is
 *  stored, and when it is full it drops the oldest and tells what was lost. */
export class MessageStore {
  readonly #limit: number;
  #kept: UplinkMessage[] = [];

  /** @param limit messages; at least 20 */
  constructor(limit: number) {
    this.#limit = limit;
  }

  get limit(): number {
    return this.#limit;
  }

  get length(): number {
    return this.#kept.length;
  }

  get messages(): readonly UplinkMessage[] {
    return this.#kept;
  }

  /** Keeps one more message, whatever it takes.
   *  @returns what was dropped to make room: the firmware must write a store-overrun fault for each range. */
  keep(message: UplinkMessage): readonly LostRange[] {
    const lost = this.#kept.length >= this.#limit ? this.#dropOldest() : [];
    this.#kept.push(message);
    return lost;
  }

  /** A receipt: everything of a boot up to `through` is stored, save the holes. */
  forget(receipt: Receipt): void {
    this.#kept = this.#kept.filter(
      (message) => !receipt.stored.some((stored) => stored.boot === message.boot && covers(stored, message)),
    );
  }

  /** Drops a fifth at once, so that a full store doesn't turn into a stream of faults. Earlier overrun faults that
   *  still wait here are told anew in as few ranges as possible, or they would come to fill the store themselves. */
  #dropOldest(): LostRange[] {
    const share = Math.ceil(this.#limit / 5);
    const goes = (message: UplinkMessage, place: number): boolean =>
      place < share || (message.kind === "fault" && message.lost !== null);
    const dropped = this.#kept.filter(goes);
    this.#kept = this.#kept.filter((message, place) => !goes(message, place));
    const lost: LostRange[] = [];
    for (const message of dropped) {
      if (message.kind === "fault" && message.lost) lost.push(message.lost);
      lost.push({ boot: message.boot, fromSequence: message.sequence, toSequence: message.sequence });
    }
    return joined(lost);
  }
}

/** The same losses in as few ranges as possible. */
function joined(lost: readonly LostRange[]): LostRange[] {
  const ranges: LostRange[] = [];
  for (const next of [...lost].sort((a, b) => a.boot - b.boot || a.fromSequence - b.fromSequence)) {
    const last = ranges.at(-1);
    if (last && last.boot === next.boot && next.fromSequence <= last.toSequence + 1) {
      ranges[ranges.length - 1] = { ...last, toSequence: Math.max(last.toSequence, next.toSequence) };
    } else {
      ranges.push(next);
    }
  }
  return ranges;
}

const covers = (stored: Receipt["stored"][number], message: Envelope): boolean =>
  message.sequence <= stored.through &&
  !stored.holes.some(([from, to]) => from <= message.sequence && message.sequence <= to);
