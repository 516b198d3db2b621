import type { Eyes } from "../../../server/domain/verdicts/thin-context.ts";
import type { Draws } from "./chance.ts";
import type { ThinEpisode } from "./reliefs.ts";
import type { Note, SharedTroubles, Troubles } from "./troubles.ts";
import type { World } from "./world.ts";

/** What the registry and the bench know of a unit and its loan: some of it, late, and not always right. */
export interface Known {
  readonly assessed: boolean;
  /** Minute from which its cell is found faded; null: not found. */
  readonly fadedFrom: number | null;
  readonly signsFrom: number | null;
  /** When its certificate ran out; Infinity: it did not; null: none is on file. */
  readonly expiredAt: number | null;
  readonly eyes: readonly { readonly from: number; readonly to: number; readonly eyes: Eyes }[];
  readonly notes: readonly Note[];
}

const day = 1440;

export function drawKnown(
  draws: Draws,
  world: World,
  troubles: Troubles,
  shared: SharedTroubles,
  sitting: { readonly episodes: readonly ThinEpisode[]; readonly notes: readonly Note[] },
  days: number,
): Known {
  const seen = () => draws.is(world.findingsSeen);
  const falsely = () => draws.is(world.findingsFalse);
  const somewhen = () => draws.between(0, days) * day;
  const faded =
    troubles.fadesFrom !== null && seen() ? troubles.fadesFrom + draws.between(12, 25) * day : null;
  const ranOut = troubles.link.some(({ cause }) => cause === "certificate");
  return {
    assessed: !draws.is(world.unassessed),
    fadedFrom: faded ?? (falsely() ? somewhen() : null),
    signsFrom: troubles.badElectronics && seen() ? draws.between(0, 20) * day : falsely() ? somewhen() : null,
    expiredAt: draws.is(world.unfiledCertificates)
      ? null
      : ranOut && shared.expires !== null
        ? shared.expires
        : Number.POSITIVE_INFINITY,
    eyes: [
      ...sitting.episodes.flatMap((one) => {
        // Found late, and then known to have been so since it began.
        const lasts = one.to - one.from > draws.between(2, 6) * day;
        if (!lasts || !seen()) return [];
        if (one.cause === "line-dead") return [{ from: one.from, to: one.to, eyes: deadLine(one.direction) }];
        return one.cause === "drift" ? [{ from: one.from + 4 * day, to: one.to, eyes: drifted }] : [];
      }),
      ...(falsely() ? [falseAlarm(somewhen(), deadLine(draws.one("left", "right", "forward")))] : []),
      ...(falsely() ? [falseAlarm(somewhen(), drifted)] : []),
    ],
    notes: [...troubles.notes, ...sitting.notes],
  };
}

const falseAlarm = (from: number, eyes: Eyes) => ({ from, to: from + 12 * day, eyes });
const drifted: Eyes = { hidden: [], deadLine: null, drifted: true };
const deadLine = (direction: "left" | "right" | "forward"): Eyes => ({
  hidden: [direction],
  deadLine: "column 3",
  drifted: false,
});
export const soundEyes: Eyes = { hidden: [], deadLine: null, drifted: false };
