import type { RecordedMinute } from "./unit-record.ts";

export const seatStates = ["seated", "off", "on-charge"] as const;

/** Recorded minutes as columns, for whoever looks at each of a month and asks little of it: no object a minute. */
export interface SeatMinutes {
  /** Start of each, ascending: instants in true time. */
  readonly at: Float64Array;
  /** Place in `seatStates`. */
  readonly state: Uint8Array;
}

export const seatStateOf = (isLoaded: boolean, onBattery: boolean): number =>
  isLoaded ? 0 : onBattery ? 1 : 2;

/** @param minutes oldest first */
export const seatMinutesOf = (minutes: readonly RecordedMinute[]): SeatMinutes => ({
  at: Float64Array.from(minutes, ({ at }) => at),
  state: Uint8Array.from(minutes, ({ seat, power }) =>
    seatStateOf(seat === "loaded", power === "on-battery"),
  ),
});
