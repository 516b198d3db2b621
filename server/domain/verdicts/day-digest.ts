import { entriesWithin } from "../record/entries-within.ts";
import { type LoadMinutes, loadMinutesOf, loadMinutesWithin } from "../record/load-minutes.ts";
import type { RecordedPrompt } from "../record/told-events.ts";
import type { RecordedRelief, ReliefKind, UnitRecord } from "../record/unit-record.ts";
import type { Span } from "../units.ts";
import { type StirCount, stirsIn } from "./stirs.ts";

/** One day of a unit's record in the few sums that a habit is made of. */
export interface DayDigest {
  readonly reliefs: Readonly<Partial<Record<ReliefKind, number>>>;
  readonly prompted: number;
  /** Prompts that the unit said it gave, and those it saw a relief follow. Older firmware says nothing of them. */
  readonly promptsGiven: number;
  readonly promptsFollowed: number;
  readonly unprompted: number;
  readonly seatedMinutes: number;
  /** Sums over seated minutes, so that days can be added up. */
  readonly load: number;
  readonly centreRight: number;
  readonly centreFront: number;
  readonly stirs: StirCount;
}

export const emptyDigest: DayDigest = {
  reliefs: {},
  prompted: 0,
  promptsGiven: 0,
  promptsFollowed: 0,
  unprompted: 0,
  seatedMinutes: 0,
  load: 0,
  centreRight: 0,
  centreFront: 0,
  stirs: { reliefs: 0, atReliefs: 0, elsewhere: 0 },
};

/** What of a record a digest is made of. */
export type Digested = Pick<UnitRecord, "minutes" | "loadMinutes" | "reliefs" | "prompts">;

/** @param record minutes, reliefs and prompts in order of time */
export const digestOf = (record: Digested): DayDigest =>
  summed(loadMinutesOf(record), record.reliefs, record.prompts);

/** The same of parts of one record. */
export function digestsOf(record: Digested, spans: readonly Span[]): DayDigest[] {
  const minutes = loadMinutesOf(record);
  const { reliefs, prompts } = record;
  return spans.map((span) =>
    summed(loadMinutesWithin(minutes, span), entriesWithin(reliefs, span), entriesWithin(prompts, span)),
  );
}

function summed(
  minutes: LoadMinutes,
  recorded: readonly RecordedRelief[],
  promptsSeen: readonly RecordedPrompt[],
): DayDigest {
  const reliefs: Partial<Record<ReliefKind, number>> = {};
  let prompted = 0;
  let unprompted = 0;
  for (const relief of recorded) {
    if (relief.outcome !== "complete") continue;
    reliefs[relief.kind] = (reliefs[relief.kind] ?? 0) + 1;
    if (relief.prompted) prompted += 1;
    else unprompted += 1;
  }
  let seatedMinutes = 0;
  let load = 0;
  let centreRight = 0;
  let centreFront = 0;
  for (let minute = 0; minute < minutes.at.length; minute++) {
    if (minutes.loaded[minute] !== 1) continue;
    seatedMinutes += 1;
    load += minutes.load[minute] ?? 0;
    centreRight += minutes.centreRight[minute] ?? 0;
    centreFront += minutes.centreFront[minute] ?? 0;
  }
  return {
    reliefs,
    prompted,
    promptsGiven: promptsSeen.length,
    promptsFollowed: promptsSeen.filter(({ followedBy }) => followedBy !== null).length,
    unprompted,
    seatedMinutes,
    load,
    centreRight,
    centreFront,
    stirs: stirsIn(minutes, recorded),
  };
}

export function addDigests(days: readonly DayDigest[]): DayDigest {
  return days.reduce((sum, day) => {
    const reliefs = { ...sum.reliefs };
    for (const kind of kindsIn(day)) reliefs[kind] = (reliefs[kind] ?? 0) + (day.reliefs[kind] ?? 0);
    return {
      reliefs,
      prompted: sum.prompted + day.prompted,
      promptsGiven: sum.promptsGiven + day.promptsGiven,
      promptsFollowed: sum.promptsFollowed + day.promptsFollowed,
      unprompted: sum.unprompted + day.unprompted,
      seatedMinutes: sum.seatedMinutes + day.seatedMinutes,
      load: sum.load + day.load,
      centreRight: sum.centreRight + day.centreRight,
      centreFront: sum.centreFront + day.centreFront,
      stirs: {
        reliefs: sum.stirs.reliefs + day.stirs.reliefs,
        atReliefs: sum.stirs.atReliefs + day.stirs.atReliefs,
        elsewhere: sum.stirs.elsewhere + day.stirs.elsewhere,
      },
    };
  }, emptyDigest);
}

const kinds: readonly ReliefKind[] = ["lift", "lean-left", "lean-right", "lean-forward", "tilt"];
const kindsIn = (day: DayDigest): ReliefKind[] => kinds.filter((kind) => day.reliefs[kind] !== undefined);
