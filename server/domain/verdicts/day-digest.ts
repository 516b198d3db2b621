import type { ReliefKind, UnitRecord } from "../record/unit-record.ts";

/** One day of a unit's record in the few sums that a habit is made of. */
export interface DayDigest {
  readonly reliefs: Readonly<Partial<Record<ReliefKind, number>>>;
  readonly prompted: number;
  readonly unprompted: number;
  readonly seatedMinutes: number;
  /** Sums over seated minutes, so that days can be added up. */
  readonly load: number;
  readonly centreRight: number;
  readonly centreFront: number;
}

export const emptyDigest: DayDigest = {
  reliefs: {},
  prompted: 0,
  unprompted: 0,
  seatedMinutes: 0,
  load: 0,
  centreRight: 0,
  centreFront: 0,
};

export function digestOf(record: Pick<UnitRecord, "minutes" | "reliefs">): DayDigest {
  const reliefs: Partial<Record<ReliefKind, number>> = {};
  let prompted = 0;
  let unprompted = 0;
  for (const relief of record.reliefs) {
    if (relief.outcome !== "complete") continue;
    reliefs[relief.kind] = (reliefs[relief.kind] ?? 0) + 1;
    if (relief.prompted) prompted += 1;
    else unprompted += 1;
  }
  const seated = record.minutes.filter(({ seat }) => seat === "loaded");
  return {
    reliefs,
    prompted,
    unprompted,
    seatedMinutes: seated.length,
    load: seated.reduce((sum, { load }) => sum + load, 0),
    centreRight: seated.reduce((sum, { centreRight }) => sum + centreRight, 0),
    centreFront: seated.reduce((sum, { centreFront }) => sum + centreFront, 0),
  };
}

export function addDigests(days: readonly DayDigest[]): DayDigest {
  return days.reduce((sum, day) => {
    const reliefs = { ...sum.reliefs };
    for (const kind of kindsIn(day)) reliefs[kind] = (reliefs[kind] ?? 0) + (day.reliefs[kind] ?? 0);
    return {
      reliefs,
      prompted: sum.prompted + day.prompted,
      unprompted: sum.unprompted + day.unprompted,
      seatedMinutes: sum.seatedMinutes + day.seatedMinutes,
      load: sum.load + day.load,
      centreRight: sum.centreRight + day.centreRight,
      centreFront: sum.centreFront + day.centreFront,
    };
  }, emptyDigest);
}

const kinds: readonly ReliefKind[] = ["lift", "lean-left", "lean-right", "lean-forward", "tilt"];
const kindsIn = (day: DayDigest): ReliefKind[] => kinds.filter((kind) => day.reliefs[kind] !== undefined);
