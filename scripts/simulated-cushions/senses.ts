import type { PowerState } from "../../firmware-protocol/src/messages.ts";
import type { ReliefAct } from "./relief-acts.ts";
import { relieved } from "./seat-load.ts";
import type { SensorGrid } from "./sensor-grid.ts";
import type { Sitter } from "./sitter.ts";
import type { UnitClock } from "./unit-clock.ts";
import type { Moment } from "./wall-clock.ts";

/** All that the electronics can sense in one minute. */
export interface Senses {
  /** The grid at rest in this minute. */
  readonly counts: Uint8Array;
  /** The grid while something moved on it, where something did. */
  readonly movement: {
    readonly counts: Uint8Array;
    readonly startUptime: number;
    readonly seconds: number;
  } | null;
  readonly celsius: number;
  readonly cellMillivolts: number;
  readonly power: PowerState;
  readonly signal: number | null;
  /** null: it has no part to measure it with. */
  readonly humidity: number | null;
}

/** What the grid reads in the minute that began at `at`, at rest and in the movement, if there was one. */
export function senseSeat(
  { grid, sitter, clock }: { readonly grid: SensorGrid; readonly sitter: Sitter; readonly clock: UnitClock },
  at: Moment,
  celsius: number,
  act: ReliefAct | null,
): Pick<Senses, "counts" | "movement" | "celsius"> {
  const load = sitter.load();
  const seat = { at, load, minutesSeated: sitter.minutesSeated, celsius, place: sitter.place };
  const movement = act &&
    load && {
      counts: grid.read({ ...seat, load: relieved(load, act.kind, act.depth) }),
      startUptime: clock.uptimeAt(act.startsAt),
      seconds: act.holdSeconds,
    };
  return { counts: grid.read(seat), movement, celsius };
}
