import { type Instant, millisecondsIn } from "../units.ts";

/** What a message that was written just before it arrived says of whoever wrote it. */
export interface Spoken {
  readonly boot: number;
  /** By its own clock, less its uptime: when that boot began. */
  readonly bootedAt: Instant;
  /** By its own clock. */
  readonly writtenAt: Instant;
}

/** The boots that have spoken lately under one name, the last to speak first, and when one came back after another. */
export interface Turns {
  readonly boots: readonly Spoken[];
  readonly returns: readonly Instant[];
}

export const noTurns: Turns = { boots: [], returns: [] };

/** From so many returns within the hour on, two devices are said to speak under one name (assumption: a clock that is set
 *  there and back within an hour makes one). */
const returnsThatTell = 3;
/** Further apart, two messages of one boot number are of two boots: more than a clock is set by in passing. */
const sameBootWithin = 2 * millisecondsIn.minute;
const mostBoots = 8;

/** One device never writes anything new in a boot that is over: what it still has of it was written before. So a boot
 *  that writes on after another boot has written is another device's.
 *  @param spoken in the order of arrival; what was written before the last message heard says nothing */
export function heardSpeaking(turns: Turns, spoken: Spoken): Turns {
  const [last] = turns.boots;
  if (last !== undefined && spoken.writtenAt <= last.writtenAt) return turns;
  const since = spoken.writtenAt - millisecondsIn.hour;
  const others = turns.boots.filter((boot) => boot.writtenAt >= since && !isSameBoot(boot, spoken));
  const isReturn =
    last !== undefined && !isSameBoot(last, spoken) && turns.boots.some((boot) => isSameBoot(boot, spoken));
  const returns = turns.returns.filter((at) => at >= since);
  return {
    boots: [spoken, ...others].slice(0, mostBoots),
    returns: isReturn ? [...returns, spoken.writtenAt] : returns,
  };
}

/** The two boots that spoke last by turns; null: one device, as far as can be told. */
export function twoDevicesIn({ boots, returns }: Turns): readonly [Spoken, Spoken] | null {
  const [last, before] = boots;
  return returns.length >= returnsThatTell && last !== undefined && before !== undefined
    ? [last, before]
    : null;
}

const isSameBoot = (a: Spoken, b: Spoken): boolean =>
  a.boot === b.boot && Math.abs(a.bootedAt - b.bootedAt) <= sameBootWithin;
