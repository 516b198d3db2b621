import type { RecordedFrame, RecordedMinute, RecordedRelief, ReliefKind } from "../record/unit-record.ts";
import { cellsAsPlaced, type Placing, placingWords } from "../sensor-grid/symmetries.ts";

/** Ways a cushion can have lain wrong whose record can be read as the person sat. After a quarter turn it can't: half of
 *  what was done to one side was told as forward, and the other half not at all. */
export const lays = ["turned-half", "mirrored", "mirrored-and-turned-half"] as const satisfies Placing[];
export type Lay = (typeof lays)[number];

interface Ends {
  readonly sides: boolean;
  readonly frontAndRear: boolean;
}

/** What changes places. */
export const changedBy: Readonly<Record<Lay, Ends>> = {
  "turned-half": { sides: true, frontAndRear: true },
  mirrored: { sides: true, frontAndRear: false },
  "mirrored-and-turned-half": { sides: false, frontAndRear: true },
};

export interface PersonalRecord {
  readonly minutes: readonly RecordedMinute[];
  readonly reliefs: readonly RecordedRelief[];
  readonly frames: readonly RecordedFrame[];
}

/** What a cushion that lay so recorded, as the person sat. Doing it twice gives what was recorded. */
export function asSat({ minutes, reliefs, frames }: PersonalRecord, lay: Lay): PersonalRecord {
  const { sides, frontAndRear } = changedBy[lay];
  const turned = (value: number, changes: boolean) => (changes && value !== 0 ? -value : value);
  return {
    minutes: minutes.map((minute) => ({
      ...minute,
      centreRight: turned(minute.centreRight, sides),
      centreFront: turned(minute.centreFront, frontAndRear),
    })),
    reliefs: reliefs.map((relief) => reliefAsSat(relief, changedBy[lay])),
    frames: frames.map((frame) => {
      const taken = cellsAsPlaced(lay, frame);
      return {
        ...frame,
        cells: Uint8Array.from(frame.cells, (_, cell) => frame.cells[taken[cell] ?? 0] ?? 0),
      };
    }),
  };
}

function reliefAsSat(relief: RecordedRelief, { sides, frontAndRear }: Ends): RecordedRelief {
  const bySide = sides ? otherSide(relief.kind) : relief.kind;
  const kind = frontAndRear ? otherEnd(bySide) : bySide;
  const { sideLoad } = relief;
  if (!sides || sideLoad === undefined) return { ...relief, kind };
  return { ...relief, kind, sideLoad: { left: sideLoad.right, right: sideLoad.left } };
}

const otherSide = (kind: ReliefKind): ReliefKind =>
  kind === "lean-left" ? "lean-right" : kind === "lean-right" ? "lean-left" : kind;

/** By the protocol's rule a tilt is load gone with its centre moved to the rear, a forward lean load gone from the rear
 *  with its centre moved to the front (firmware-protocol/SPEC.md, FP-5.30 and FP-5.31). The rules are not each other's
 *  mirror, so some of each were not told at all: none seen in that time is not none done. */
const otherEnd = (kind: ReliefKind): ReliefKind =>
  kind === "tilt" ? "lean-forward" : kind === "lean-forward" ? "tilt" : kind;

/** The way that a finding's sentence names. */
export const layIn = (evidence: readonly string[]): Lay | null =>
  lays.find((lay) => evidence.some((sentence) => sentence.includes(`${placingWords(lay)},`))) ?? null;
