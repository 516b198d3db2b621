import type { Cause } from "./causes.ts";
import { thinCauses } from "./causes.ts";
import type { Observation } from "./observation.ts";
import type { ThinContext } from "./thin-context.ts";

/** Fewer counted reliefs than this don't show whether reliefs leave a trace here, and with a smaller share than this
 *  they don't. Until many were seen it is taken that four in five do. Assumptions. */
const fewestReliefs = 3;
const leastTrace = 0.5;
const taken = { shown: 4, of: 5 };
/** Stirs an hour besides reliefs, at most: where there are more, some may be reliefs that the unit can't see, and what
 *  is not known is not held against the person. Assumption. */
const besidesAtMost = 0.4;
/** People shift about unevenly: the smaller, the more. Assumption. */
const evenness = 2;

/** What the minutes themselves show of reliefs that the unit didn't count. How often a counted relief shows as a stir,
 *  and how often they stir besides, is learned from this person's earlier days on this unit; the likelihood of the
 *  stirs in the stretch is then counted out for each cause: under some no relief was made, under others as many as the
 *  stretch would have needed (one due in three) up to all of them.
 *  Sources: binomial and negative binomial (gamma-mixed Poisson) distributions, textbook; that one due in three is
 *  enough is an assumption. */
export function stirs({ stirs: clue, due }: ThinContext): Observation | null {
  if (!clue || clue.usual.reliefs < fewestReliefs || clue.usual.seatedMinutes < 600) return null;
  const { usual, count, minutes } = clue;
  const shows = (usual.atReliefs + taken.shown) / (usual.reliefs + taken.of);
  if (shows < leastTrace) return null;
  const rate = Math.min(besidesAtMost / 60, (usual.elsewhere + 0.5) / usual.seatedMinutes);
  const besides = rate * minutes;
  const enough = Math.max(1, Math.ceil(due / 3));
  const rowFor = (stirred: number): number[] => {
    const none = chanceOf(stirred, 0, 0, shows, besides);
    const many = chanceOf(stirred, enough, Math.max(enough, due), shows, besides);
    const few = chanceOf(stirred, enough, enough, shows, besides);
    return thinCauses.map((cause) => rowOf(cause, { none, few, many }));
  };
  const hourly = ((usual.elsewhere / usual.seatedMinutes) * 60).toFixed(1);
  return {
    clue: "stirs",
    values: [String(Math.min(count, 4))],
    sentence: `${count === 0 ? "At no time did the load shift and come back" : `The load shifted and came back ${count} ${count === 1 ? "time" : "times"}`} without a relief being counted; of ${usual.reliefs} counted reliefs ${usual.atReliefs} show so, and besides them it happens ${hourly} times an hour here.`,
    row: rowFor(count),
    others: [0, 1, 2, 3, 4, 5, 6]
      .filter((other) => other !== count)
      .map((other) => ({ value: String(other), words: stirWords(other), row: rowFor(other) })),
  };
}

const stirWords = (count: number): string =>
  count === 0
    ? "at no time the load shifted and came back without a relief being counted"
    : `the load shifted and came back ${count} ${count === 1 ? "time" : "times"} without a relief being counted`;

/** A dead part of the grid hides some of the trace, and of another person's sitting stirs say little. Reliefs that are too
 *  short for the plan are recorded, so that no others are to be looked for. */
function rowOf(cause: Cause, { none, few, many }: { none: number; few: number; many: number }): number {
  switch (cause.id) {
    case "ordinary":
    case "fewer-done":
    case "prompts-fading":
    case "rules-changed":
      return none;
    case "one-missed":
      return few;
    case "unseen-method":
    case "drift":
    case "insert-moved":
      return many;
    default:
      return (none + many) / 2;
  }
}

/** P(`count` stirs) where from `from` to `to` reliefs were made, each number as likely, each of them showing with
 *  probability `shows`, and `besides` stirs are to be expected besides. */
function chanceOf(count: number, from: number, to: number, shows: number, besides: number): number {
  let sum = 0;
  for (let reliefs = from; reliefs <= to; reliefs += 1)
    for (let shown = 0; shown <= Math.min(reliefs, count); shown += 1)
      sum += binomial(shown, reliefs, shows) * uneven(count - shown, besides);
  return Math.max(sum / (to - from + 1), 1e-6);
}

function binomial(shown: number, reliefs: number, chance: number): number {
  let ways = 1;
  for (let index = 0; index < shown; index += 1) ways = (ways * (reliefs - index)) / (index + 1);
  return ways * chance ** shown * (1 - chance) ** (reliefs - shown);
}

/** Negative binomial by its mean. */
function uneven(count: number, mean: number): number {
  const part = evenness / (evenness + mean);
  let chance = part ** evenness;
  for (let index = 1; index <= count; index += 1) chance *= ((evenness + index - 1) / index) * (1 - part);
  return chance;
}
