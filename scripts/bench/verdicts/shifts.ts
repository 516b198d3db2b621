import type { Draws } from "./chance.ts";
import type { DoneRelief, SittingLife } from "./reliefs.ts";

/** How a minute's mean load and centre stand off from plain sitting. */
export interface Shifts {
  readonly lighter: Float32Array;
  readonly right: Float32Array;
  readonly front: Float32Array;
}

/** What reliefs do to the minutes they fall in, counted by the unit or not, and what plain fidgeting does. A part of the
 *  grid that is dead sees load go and no centre move; a drifted one shows half of it. All invented. */
export function shiftsOf(draws: Draws, sitting: SittingLife, seated: Uint8Array): Shifts {
  const shifts = {
    lighter: new Float32Array(seated.length),
    right: new Float32Array(seated.length),
    front: new Float32Array(seated.length),
  };
  const put = (list: Float32Array, from: number, minutes: number, by: number): void => {
    list.fill(by, from, from + minutes);
  };
  for (const relief of sitting.reliefs) {
    const minutes = relief.holdSeconds > 75 ? 2 : 1;
    const by =
      relief.depth * draws.between(0.6, 1) * (relief.complete ? 1 : 0.6) * clearness(sitting, relief);
    if (relief.kind === "lift") put(shifts.lighter, relief.at, minutes, 0.8 * by);
    else if (relief.kind === "tilt") {
      put(shifts.lighter, relief.at, minutes, 0.4 * by);
      put(shifts.front, relief.at, minutes, -22 * by);
    } else if (isDead(sitting, relief)) put(shifts.lighter, relief.at, minutes, 0.3 * by);
    else if (relief.kind === "lean-forward") put(shifts.front, relief.at, minutes, 45 * by);
    else put(shifts.right, relief.at, minutes, (relief.kind === "lean-left" ? -45 : 45) * by);
  }
  for (let at = 0; at < seated.length; at += 1) {
    if (seated[at] !== 1 || !draws.is(0.02)) continue;
    const by = draws.normal(0, 8);
    put(draws.is(0.5) ? shifts.right : shifts.front, at, 1, by);
    if (draws.is(0.2)) put(shifts.lighter, at, 1, Math.min(0.5, Math.abs(draws.normal(0, 0.09))));
  }
  return shifts;
}

const during = (sitting: SittingLife, cause: string, { at }: DoneRelief) =>
  sitting.episodes.filter((one) => one.cause === cause && at >= one.from && at < one.to);

const clearness = (sitting: SittingLife, relief: DoneRelief): number =>
  during(sitting, "drift", relief).length > 0 ? 0.5 : 1;

const isDead = (sitting: SittingLife, relief: DoneRelief): boolean =>
  during(sitting, "line-dead", relief).some(({ direction }) => relief.kind === `lean-${direction}`);
